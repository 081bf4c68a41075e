"""Where a page of a PDF draws: its content stream followed, with the matrices it sets."""

import numpy as np
import pikepdf


def drawn_points(page):
    """Every corner of every line that the page draws [point], as its content stream has it."""
    found, stack, matrix = [], [], np.eye(3)
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            a, b, c, d, e, f = map(float, operands)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif name in ("m", "l"):
            found.append((np.array([*map(float, operands), 1.0]) @ matrix)[:2])
    return np.array(found)
