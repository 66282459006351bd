"""Wrong and hostile input at every way in: whatever is typed, answered, or in a file, the answer is an answer or a sentence.

`python -m tests.attack --minutes 10` goes on for as long as it is told, at random; the suite has short forms that are the same
each time.
"""
