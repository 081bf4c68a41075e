"""The computations of the pipeline. Pure: frames and numbers in, frames and numbers out.

Nothing here opens a file or knows of one; a test holds that.
"""
