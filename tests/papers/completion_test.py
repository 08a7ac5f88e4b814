#!/usr/bin/python3
"""Completions in a real shell. Usage: completion_test.py bash|zsh|fish BRIMWATCH COMPLETIONS_DIR

Each question is a command line up to the cursor; the shell is asked what it would offer.
"""
import os
import pathlib
import pty
import re
import select
import shutil
import subprocess
import sys
import tempfile
import time
import unittest

SHELL, BRIMWATCH, PLACE = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
FOLDER = tempfile.TemporaryDirectory()
HOME = pathlib.Path(FOLDER.name)
(HOME / "brimwatch").mkdir()
(HOME / "brimwatch/brimwatch.toml").write_text(
    '[[channel]]\nkind = "console"\n[[channel]]\nname = "mail at home"\nkind = "email"\nwrite_to = "/tmp"\n')
with open(HOME / "brimwatch/brimwatch.toml", "a") as more:
    more.write('[[watch]]\nsymbol = "KLVN"\npivot = 48.35\n[[watch]]\nsymbol = "ORRI"\npivot = 112.5\n[[watch]]\nsymbol = "KLVN"\npivot = 50\n')
(HOME / "monday.csv").write_text("time,symbol,price,size,conditions\n")
(HOME / "monday.csv.zst").write_text("")
(HOME / "money.txt").write_text("")
(HOME / "bars").mkdir()
ENV = {"PATH": f"{BRIMWATCH.parent}:/usr/bin:/bin", "HOME": str(HOME), "XDG_CONFIG_HOME": str(HOME), "TERM": "dumb",
       "LC_ALL": "C.UTF-8", "ASAN_OPTIONS": os.environ.get("ASAN_OPTIONS", "")}


def ask_bash(line):
    words = line.split(" ")
    script = (f"source {PLACE}/brimwatch\nCOMP_WORDS=({' '.join(repr(word) for word in words)})\nCOMP_CWORD={len(words) - 1}\n"
              'compopt() { :; }\n_brimwatch\nprintf "%s\\n" "${COMPREPLY[@]}"\n')
    done = subprocess.run(["bash", "--norc", "-c", script], capture_output=True, text=True, env=ENV, cwd=HOME)
    assert done.stderr == "", done.stderr
    return set(done.stdout.split("\n")) - {""}


def ask_fish(line):
    script = f"source {PLACE}/brimwatch.fish; complete -C '{line}'"
    done = subprocess.run(["fish", "--no-config", "-c", script], capture_output=True, text=True, env=ENV, cwd=HOME)
    assert done.stderr == "", done.stderr
    return {row.split("\t")[0].rstrip("/") for row in done.stdout.splitlines()}


# zsh offers something only while a line is edited: it runs on a terminal of its own, and what it would add to the line is
# printed instead of being shown. The way is that of zsh's own tests (Test/comptest in its sources).
ZSH = r"""
PS1='' PROMPT_EOL_MARK=''
fpath=(%s $fpath)
autoload -Uz compinit && compinit -u -D
zstyle ':completion:*' verbose no
zstyle ':completion:*' list-grouped false
setopt NO_ALWAYS_LAST_PROMPT NO_BEEP
compadd() {
  if [[ ${@[1,(i)(-|--)]} == *-(O|A|D)\ * ]]; then builtin compadd "$@"; return; fi
  local -a found
  builtin compadd -A found "$@"
  for one in $found; do print -r -- "OFFER<$one>"; done
  builtin compadd "$@"
}
finish() { zle complete-word; print -r -- "ASKED" ; zle kill-whole-line }
zle -N finish
bindkey '^X' finish
print READY
"""


class Zsh:
    def __init__(self):
        (HOME / "setup.zsh").write_text(ZSH % PLACE)
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.chdir(HOME)
            os.execve("/bin/zsh", ["zsh", "-f", "-i"], ENV)
        os.write(self.fd, b"source ~/setup.zsh\n")
        self.until("\nREADY")

    def until(self, mark):
        text, end = "", time.monotonic() + 60
        while mark not in text.replace("\r", ""):
            ready, _, _ = select.select([self.fd], [], [], max(0, end - time.monotonic()))
            assert ready, f"zsh did not answer: {text!r}"
            text += os.read(self.fd, 65536).decode(errors="replace")
        return text

    def ask(self, line):
        os.write(self.fd, line.encode() + b"\x18")
        return {name.rstrip("/") for name in re.findall(r"OFFER<(.*?)>", self.until("ASKED"))}


ZSH_ONE = None


def ask(line):
    global ZSH_ONE
    if SHELL == "bash":
        return ask_bash(line)
    if SHELL == "fish":
        return ask_fish(line)
    ZSH_ONE = ZSH_ONE or Zsh()
    return ZSH_ONE.ask(line)


def commands_of_help():
    text = subprocess.run([BRIMWATCH, "--help"], capture_output=True, text=True, env=ENV).stdout
    return set(re.findall(r"^  ([a-z]+)  ", text.partition("Subcommands:\n")[2], re.M))


class Completion(unittest.TestCase):
    def test_offers_every_command(self):
        offered = ask("brimwatch ")
        self.assertGreaterEqual(offered, commands_of_help())

    def test_completes_a_command(self):
        self.assertEqual(ask("brimwatch re"), {"rehearse", "reload", "replay", "review"})

    def test_offers_a_commands_options(self):
        offered = ask("brimwatch now --")
        self.assertLessEqual({"--json", "--socket", "--follow", "--help"}, offered)
        self.assertNotIn("--speed", offered)

    def test_offers_the_commands_below(self):
        self.assertEqual(ask("brimwatch channels "), {"try", "list"})

    def test_offers_an_options_words(self):
        self.assertEqual(ask("brimwatch learn --stamp "), {"auto", "start", "end"})

    def test_offers_files(self):
        self.assertIn("monday.csv", ask("brimwatch replay mon"))
        self.assertIn("monday.csv", ask("brimwatch replay --config mon"))

    def test_offers_tapes_and_folders_of_them(self):
        offered = ask("brimwatch replay mon")
        self.assertLessEqual({"monday.csv", "monday.csv.zst"}, offered)
        if SHELL != "fish":  # which knows no choice among endings
            self.assertNotIn("money.txt", offered)
        self.assertIn("bars", ask("brimwatch replay ba"))

    def test_offers_the_symbols_that_are_watched(self):
        self.assertEqual(ask("brimwatch check "), {"KLVN", "ORRI"})
        self.assertEqual(ask("brimwatch review --why K"), {"KLVN"})

    def test_offers_folders_only(self):
        offered = ask("brimwatch init --dir ")
        self.assertIn("bars", offered)
        self.assertNotIn("monday.csv", offered)

    def test_offers_the_configured_channels(self):
        self.assertEqual({one.replace("\\", "") for one in ask("brimwatch channels try ")}, {"console", "mail at home"})

    def test_offers_nothing_where_only_the_user_knows(self):
        self.assertEqual(ask("brimwatch pace --normal "), set())


if __name__ == "__main__":
    if not shutil.which(SHELL):
        print(f"skipped: {SHELL} is not installed")
        sys.exit(77)
    unittest.main(argv=sys.argv[:1], verbosity=1)
