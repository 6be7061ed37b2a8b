"""One catalogue of words: what is said is a key with its numbers, until it is said in a language."""
