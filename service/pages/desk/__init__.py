"""The desk: the dispatcher's queue and tickets."""
