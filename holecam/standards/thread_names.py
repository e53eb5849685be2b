"""Read a thread's name as people write it: ``6-32``, ``1/4-20 UNC``, ``M4``, ``M4x0.7``, ``2BA``, ``1/4 BSW``,
``3/16 x 40 ME``, or a free ``7 x 0.75 60 deg``, ``1/4 x 36 tpi whitworth``.

``size-threads`` with a hyphen is how ASME B1.1 writes UNC and UNF, so ``1/4-20`` is UNC although BSW has 20 threads
there too; every other name that fits two threads is refused with both, 1/8-40 among them: unified threads of that
size are written by number.
"""

from itertools import pairwise

from holecam.standards.threads import Thread, thread_written

EXAMPLES = "a thread such as 6-32, 1/4-20 UNC, M4, M8x1, 2 BA, 1/4 BSW, 3/16 x 40 ME or 7 x 0.75 60 deg"


def parse_thread(text: str) -> Thread:
    """Return the thread that the text names.

    Raises
    ------
    InputError
        Unknown (with the nearest names), ambiguous (with the names to choose from), or of a kind that is not in the
        tables (pipe, trapezoidal).

    Examples
    --------
    >>> [parse_thread(t).name for t in ("#6-32", "m4x.7", "2ba", "1/4 whit", "3/16x40 ME")]
    ['6-32 UNC', 'M4', '2 BA', '1/4 BSW', '3/16 x 40 ME']
    """
    usual = _as_printed(text)
    if usual is not None:
        return usual
    from holecam.standards.thread_grammar import read_thread  # patterns that a usual name does not need

    return read_thread(text)


def _as_printed(text: str) -> Thread | None:
    """Return the thread whose usual name this is, in any case and with blanks as one likes: quick, without patterns.

    Blanks between two digits are kept apart: 1 5/16 is not 15/16.
    """
    words = text.lower().split()
    if any(a[-1].isdigit() and b[0].isdigit() for a, b in pairwise(words)):
        return None
    return thread_written("".join(words))
