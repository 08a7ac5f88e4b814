#!/usr/bin/python3
"""What the compiler and linker were asked for is in the program: the OpenSSF guide's "Compiler Options Hardening Guide for C
and C++" lists the options, readelf (binutils) reads the result. Usage: hardening_test.py PROGRAM plain|sanitized"""
import re
import subprocess
import sys
import unittest

KIND, PROGRAM = sys.argv.pop(), sys.argv.pop()


def readelf(*options):
    return subprocess.run(["readelf", "--wide", *options, PROGRAM], capture_output=True, text=True, check=True).stdout


class Hardening(unittest.TestCase):
    def test_it_is_position_independent(self):
        if KIND == "sanitized":
            self.skipTest("sanitized builds stay where they are, to start faster; the release binary is the one that counts")
        self.assertRegex(readelf("-h"), r"Type:\s+DYN")
        self.assertRegex(readelf("-d"), r"FLAGS_1.*\bPIE\b")

    def test_no_stack_is_executable(self):
        stack = re.search(r"GNU_STACK.*", readelf("-l"))
        self.assertIsNotNone(stack)
        self.assertNotIn("E", stack[0].split()[-2])

    def test_no_segment_is_writable_and_executable(self):
        for line in re.findall(r"^\s+LOAD.*$", readelf("-l"), re.M):
            self.assertNotIn("RWE", line)

    def test_no_library_is_sought_where_others_may_write(self):
        self.assertNotRegex(readelf("-d"), r"\((RPATH|RUNPATH)\)")

    def test_relocations_are_read_only_and_bound_at_the_start(self):
        if KIND == "sanitized":
            self.skipTest("sanitized builds link without the hardening flags; the release binary is the one that counts")
        self.assertIn("GNU_RELRO", readelf("-l"))
        self.assertRegex(readelf("-d"), r"\bNOW\b")

    def test_stacks_are_protected_and_calls_checked(self):
        if KIND == "sanitized":
            self.skipTest("sanitized builds have other guards; the release binary is the one that counts")
        symbols = readelf("--dyn-syms")
        self.assertIn("__stack_chk_fail", symbols)
        self.assertRegex(symbols, r"__\w+_chk@")
        self.assertRegex(readelf("-n"), r"IBT.*SHSTK|SHSTK.*IBT")


unittest.main()
