"""A child for the tests of links: does what the words on its command line say.

echo    gives back what comes            hang    ignores SIGTERM and never reads
flood   writes without end, then reads   noisy   writes 1 MiB to stderr, then gives back what comes
die N   ends with exit code N            child   starts a child of its own, says its number, then gives back
"""

import os
import signal
import subprocess
import sys
import time


def give_back():
    while data := os.read(0, 4096):
        os.write(1, data)


def main(word, *rest):
    if word == "die":
        print("no such channel\n\nbad \x07 table", file=sys.stderr)
        sys.exit(int(rest[0]))
    if word == "hang":
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
        os.write(1, b"deaf\n")
        time.sleep(600)
    if word == "flood":
        os.write(1, b"." * 50_000)
        while True:
            os.write(1, b"." * 4096)
    if word == "noisy":
        os.write(2, b"x" * (1 << 20) + b"\nlast words\n")
    if word == "child":
        grandchild = subprocess.Popen(["sleep", "600"])
        os.write(1, b"%d\n" % grandchild.pid)
    give_back()


main(*sys.argv[1:])
