"""The stations of the job: each verb reads, computes and writes, in 10 to 40 lines.

A station is at once a command, a button and a line in a notebook.
"""
