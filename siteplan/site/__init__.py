"""The nouns: what is on the ground, what is to be laid, and how positions are known."""
