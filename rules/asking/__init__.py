"""Which question next and when to stop; the conversation as a table; everything we say."""
