#!/usr/bin/python3
"""The bill of materials against SPDX 2.3 (clauses beside the checks) and against the loader: what the program is linked with
is in it. Usage: sbom_test.py PROGRAM SBOM_SCRIPT"""
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

SCRIPT, PROGRAM = sys.argv.pop(), sys.argv.pop()
if shutil.which("dpkg") is None:
    print("skipped: there is no dpkg here, and so no package database to ask")
    sys.exit(77)


def make(folder, name="sbom.json"):
    target = pathlib.Path(folder) / name
    subprocess.run([SCRIPT, PROGRAM, "9.9.9", target], check=True, env={**os.environ, "SOURCE_DATE_EPOCH": "1764086400"})
    return target.read_bytes()


class Sbom(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        with tempfile.TemporaryDirectory() as folder:
            cls.bytes, cls.again = make(folder), make(folder, "again.json")
        cls.document = json.loads(cls.bytes)

    def test_the_document_has_what_clause_6_asks_for(self):
        document = self.document
        self.assertEqual(document["spdxVersion"], "SPDX-2.3")  # 6.1
        self.assertEqual(document["dataLicense"], "CC0-1.0")  # 6.2
        self.assertEqual(document["SPDXID"], "SPDXRef-DOCUMENT")  # 6.3
        self.assertTrue(document["name"])  # 6.4
        self.assertRegex(document["documentNamespace"], r"^https://[^#]+$")  # 6.5: a URI without '#'
        for creator in document["creationInfo"]["creators"]:  # 6.8
            self.assertRegex(creator, r"^(Person|Organization|Tool): .+")
        self.assertEqual(document["creationInfo"]["created"], "2025-11-25T16:00:00Z")  # 6.9

    def test_each_package_has_what_clause_7_asks_for(self):
        for package in self.document["packages"]:
            self.assertTrue(package["name"])  # 7.1
            self.assertRegex(package["SPDXID"], r"^SPDXRef-[A-Za-z0-9.-]+$")  # 7.2
            self.assertTrue(package["versionInfo"])  # 7.3
            self.assertTrue(package["downloadLocation"])  # 7.7
            self.assertIs(package["filesAnalyzed"], False)  # 7.8: so no verification code (7.9)
            for reference in package.get("externalRefs", []):  # 7.21
                self.assertEqual(reference["referenceCategory"], "PACKAGE-MANAGER")
                self.assertRegex(reference["referenceLocator"], r"^pkg:deb/debian/[a-z0-9.+-]+@[^ ?]+\?arch=[a-z0-9]+$")
        ids = [package["SPDXID"] for package in self.document["packages"]]
        self.assertEqual(len(ids), len(set(ids)))

    def test_relationships_of_clause_11_join_what_is_there(self):
        ids = {package["SPDXID"] for package in self.document["packages"]} | {"SPDXRef-DOCUMENT"}
        described = 0
        for one in self.document["relationships"]:
            self.assertIn(one["spdxElementId"], ids)
            self.assertIn(one["relatedSpdxElement"], ids)
            self.assertIn(one["relationshipType"], {"DESCRIBES", "DYNAMIC_LINK", "BUILD_DEPENDENCY_OF"})
            described += one["relationshipType"] == "DESCRIBES"
        self.assertEqual(described, 1)
        joined = {one["spdxElementId"] for one in self.document["relationships"]} | {one["relatedSpdxElement"] for one in self.document["relationships"]}
        self.assertEqual(joined, ids)

    def test_every_library_that_the_program_asks_for_is_in_it(self):
        """readelf (binutils) reads what the linker wrote; the bill was made from the loader's list."""
        needed = re.findall(r"NEEDED.*\[(.+)\]", subprocess.run(["readelf", "-d", PROGRAM], capture_output=True, text=True, check=True).stdout)
        self.assertGreater(len(needed), 5)
        names = {package["name"] for package in self.document["packages"]}
        for library in needed:
            owners = subprocess.run(["dpkg", "-S", "*/" + library], capture_output=True, text=True).stdout.splitlines()
            self.assertTrue({line.split(":")[0] for line in owners} & names, library)

    def test_what_is_loaded_later_is_in_it_and_not_linked(self):
        """Linked, libcurl and cairo would bring forty libraries to each start, and double its time."""
        needed = subprocess.run(["ldd", PROGRAM], capture_output=True, text=True, check=True).stdout
        names = {package["name"] for package in self.document["packages"]}
        for package, library in (("libcurl4", "libcurl.so"), ("libcairo2", "libcairo.so")):
            self.assertIn(package, names)
            self.assertNotIn(library, needed)
        self.assertIn("libnghttp2-14", names, "what they bring with them is named too")

    def test_two_makings_are_the_same(self):
        self.assertEqual(self.bytes, self.again)


unittest.main()
