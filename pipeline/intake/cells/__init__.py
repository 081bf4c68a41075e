"""What headers and cells of a hand-edited table say: text in, a value or a complaint out."""
