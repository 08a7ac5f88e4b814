#!/usr/bin/python3
"""`cmake --install` into a folder: what is there, readable by whom, and does it work from there.

Usage: staged_test.py CMAKE BUILD_DIR SOURCE_DIR. The package is tested by scripts/package.
"""
import gzip
import os
import pathlib
import re
import stat
import subprocess
import sys
import tempfile
import unittest

CMAKE, BUILD, SOURCE = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])

FILES = """
bin/brimwatch
lib/systemd/system/brimwatch.service
lib/systemd/user/brimwatch.service
share/bash-completion/completions/brimwatch
share/brimwatch/brimwatch.schema.json
share/brimwatch/control.schema.json
share/brimwatch/output.schema.json
share/doc/brimwatch/README.md
share/doc/brimwatch/copyright
share/doc/brimwatch/examples/demo/demo-tape
share/doc/brimwatch/examples/etcd-try
share/doc/brimwatch/volume.md
share/doc/brimwatch/weekend.md
share/fish/vendor_completions.d/brimwatch.fish
share/lintian/overrides/brimwatch
share/man/man1/brimwatch.1.gz
share/man/man5/brimwatch-notice.5.gz
share/man/man5/brimwatch-tape.5.gz
share/man/man5/brimwatch-watches.5.gz
share/man/man5/brimwatch.toml.5.gz
share/man/man8/brimwatch.8.gz
share/zsh/vendor-completions/_brimwatch
""".split()
# All samples, of which the manual and the README name some.
SAMPLES = [f"share/doc/brimwatch/examples/{path.relative_to(SOURCE / 'config/samples')}"
           for path in (SOURCE / "config/samples").rglob("*") if path.is_file()]


IS_RELEASE = "CMAKE_BUILD_TYPE:STRING=Release\n" in (pathlib.Path(BUILD) / "CMakeCache.txt").read_text()
BILL_OF_MATERIALS = ["share/doc/brimwatch/brimwatch.spdx.json"] if IS_RELEASE else []


class Staged(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.root = pathlib.Path(cls.folder.name)
        done = subprocess.run([CMAKE, "--install", BUILD, "--prefix", "/usr"], capture_output=True, text=True,
                              env={**os.environ, "DESTDIR": cls.folder.name})
        assert done.returncode == 0, done.stderr + done.stdout

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_holds_these_files_and_no_others(self):
        found = sorted(str(path.relative_to(self.root / "usr")) for path in self.root.rglob("*") if path.is_file())
        self.assertEqual(found, sorted(FILES + SAMPLES + BILL_OF_MATERIALS))

    def test_all_may_read_and_none_but_the_owner_write(self):
        for path in self.root.rglob("*"):
            mode = stat.S_IMODE(path.stat().st_mode)
            program = path.is_dir() or path.name in ("brimwatch", "demo-tape", "etcd-try", "make-house")
            program = program and not (path.is_file() and {"completions", "overrides"} & set(path.parts))
            self.assertEqual(oct(mode), oct(0o755 if program else 0o644), path)

    def test_the_program_runs_and_says_its_version(self):
        version = re.search(r"project\(brimwatch VERSION ([\d.]+)", (SOURCE / "CMakeLists.txt").read_text())[1]
        done = subprocess.run([self.root / "usr/bin/brimwatch", "--version"], capture_output=True, text=True)
        lines = done.stdout.splitlines()
        self.assertEqual(lines[0], f"brimwatch {version}")
        self.assertRegex(lines[1], r"^build: \w+, ")
        import sqlite3  # the same shared library, asked by another program
        self.assertIn(f"SQLite {sqlite3.sqlite_version},", done.stdout)
        curl = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", "libcurl4"], capture_output=True, text=True).stdout
        self.assertIn(f"libcurl {curl.split('-')[0]},", done.stdout)
        self.assertTrue(all(len(line) <= 80 for line in lines), done.stdout)

    def test_units_start_what_is_installed(self):
        for kind in ("user", "system"):
            unit = (self.root / f"usr/lib/systemd/{kind}/brimwatch.service").read_text()
            self.assertRegex(unit, r"(?m)^ExecStart=/usr/bin/brimwatch run")
            self.assertRegex(unit, r"(?m)^Documentation=man:brimwatch\(1\) man:brimwatch\(8\) man:brimwatch\.toml\(5\)$")
            self.assertRegex(unit, r"(?m)^ExecReload=/usr/bin/brimwatch reload")

    def test_every_file_that_the_papers_name_is_there(self):
        """Under /usr, as installed; a folder counts. Of a word like examples/systemd/NAME.conf, all that it can mean."""
        texts = {path: gzip.decompress(path.read_bytes()).decode() if path.suffix == ".gz" else path.read_text()
                 for path in [*self.root.rglob("*.gz"), *self.root.rglob("README.md"), *self.root.rglob("*.service")]}
        named = {(path.name, word.rstrip(".")) for path, text in texts.items()
                 for word in re.findall(r"/usr/(?:share|lib)/[\w./-]*brimwatch[\w./-]*", text.replace("\\-", "-"))}
        self.assertGreater(len(named), 8)
        self.assertEqual({(page, word) for page, word in named if not (self.root / word[1:]).exists()}, set())
        readme = next(text for path, text in texts.items() if path.name == "README.md")
        self.assertNotRegex(readme, r"`(config|daemon|scripts)/")

    def test_pages_are_packed_without_a_time(self):
        for path in self.root.rglob("*.gz"):
            self.assertEqual(path.read_bytes()[4:8], b"\0\0\0\0", path)
            self.assertTrue(gzip.decompress(path.read_bytes()).startswith(b".TH "), path)

    def test_says_under_what_licence(self):
        text = (self.root / "usr/share/doc/brimwatch/copyright").read_text()
        self.assertIn("License: Apache-2.0", text)
        self.assertIn("Apache License", (SOURCE / "LICENSE").read_text())


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=1)
