"""How far observers agree, what each of them errs on, and what several of them say together.

Pure: readings and arrays in, records out.
"""
