"""One module per verb: stores what comes in, asks ``rules``, stores the answer, leaves what goes out.

In rooms, each of which uses only those before it: ``loading`` (what is given to us), ``rows`` (what is
kept), ``diagnosing``, ``sending``, ``desk`` (what people decide), ``hearing`` (texts and time), ``home``
(the tenant's page), ``repairs``, ``staff``, ``showing``.
"""
