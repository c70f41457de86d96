"""Which question is worth asking next."""
