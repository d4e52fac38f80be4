"""Writes written.ipynb with the Python package nbformat (5.5.0), as Jupyter itself would.

python3 make-written.py > written.ipynb
"""
import sys

import nbformat
from nbformat.v4 import (
    new_code_cell,
    new_markdown_cell,
    new_notebook,
    new_output,
    new_raw_cell,
)

notebook = new_notebook(
    metadata={
        "language_info": {"name": "typescript", "file_extension": ".ts", "mimetype": "text/typescript"},
        "kernelspec": {"name": "polewright", "language": "typescript", "display_name": "Polewright (TypeScript)"},
    },
    cells=[
        new_markdown_cell(
            "# First light\n\nφ = −30°, λ = 20°\n",
            id="heading",
            attachments={"dot.png": {"image/png": "iVBORw0KGgo="}},
        ),
        new_code_cell(
            'const readings = "west\\tpositive";\nreadings',
            id="readings",
            execution_count=3,
            metadata={"tags": ["first"], "collapsed": False},
            outputs=[
                new_output("stream", name="stdout", text="one\ntwo\n\nthree"),
                new_output(
                    "display_data",
                    data={
                        "text/plain": "a figure\nof two lines",
                        "text/html": "<p>a figure</p>\n<p>of two lines</p>\n",
                        "image/svg+xml": "<svg>\n</svg>",
                        "image/png": "iVBORw0KGgo=\n",
                        "application/json": {"turns": [1, 2.5, None, True], "a": "b\nc"},
                    },
                    metadata={"image/png": {"width": 10}},
                ),
                new_output("execute_result", data={"text/plain": "''"}, execution_count=3),
                new_output("error", ename="RangeError", evalue="late", traceback=["RangeError: late", "    at line 2"]),
            ],
        ),
        new_code_cell("", id="empty"),
        new_raw_cell("as it is", id="raw"),
    ],
)
nbformat.validate(notebook)
nbformat.write(notebook, sys.stdout)
