"""The command ``shadowrout``, and ``python -m shadowrout``: the command line, loaded where Ctrl-C is told in words."""

import sys


def main() -> int:
    """Run the command line in a process of its own and return its exit code, however early it is stopped."""
    try:
        from shadowrout.cli import main as run

        code = run()
        _ignore_interrupts()
    except KeyboardInterrupt:
        _ignore_interrupts()
        if sys.stderr is not None:
            sys.stderr.write("shadowrout: stopped; no file is half-written\n")
        return 130
    return code


def _ignore_interrupts() -> None:
    """Let Python end in peace: all is done by then."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


if __name__ == "__main__":
    sys.exit(main())
