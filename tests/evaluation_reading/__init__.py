"""How well and how fast labelled messages are read: figures per label, the misses, the pace.

The messages and their labels are our own invention (common practice, no source). ``building.jsonl``
is for tuning; the files that begin with ``scoring`` were written to be read once before anything was
changed for them. What they showed was then mended by class, so a later run says how well the lesson was
learned, not how the reader fares with strangers. The first reading of each says that. The second and
the third row flatter: who tuned the reader on ``building.jsonl`` had written these files too. The files
of the other hand do not: their first rows are of a reader whose author had never seen them. The texts
of ``scoring_other_hand`` were never looked at; before its last row but one the names and values of the
labels missed, without their texts, had been, and the figures of each value were watched on the way to
its last, so these two rows flatter a little. The last is the first reading of
a third hand, by the finished reader.

================  ========  =====  =====  ======  ==========  =========
reading           danger    false  kinds  intent  room        setpoint
                  recall    alarm  F1     right   temp right  right
================  ========  =====  =====  ======  ==========  =========
scoring_blind     0.844     0.012  0.890  0.865   0.979       1.000
the same, reader
tuned without it  0.906     0.000  0.934  0.912   0.979       1.000
scoring_fresh     0.955     0.000  0.917  0.929   1.000       1.000
building_other    0.915     0.019  0.895  0.819   0.958       0.985
scoring_other     0.681     0.023  0.846  0.800   0.950       0.988
the same, reader
tuned without it  0.872     0.028  0.870  0.831   0.946       0.988
the same, after   0.936     0.028  0.895  0.842   0.965       0.988
the same, widened 0.936     0.028  0.900  0.877   0.965       0.988
scoring_third     0.911     0.010  0.874  0.897   0.997       0.993
================  ========  =====  =====  ======  ==========  =========
"""

from .labelled import Labelled, load_messages
from .pace import Pace, ReadingBench, bench_reading, print_reading_bench
from .report import print_reading_report
from .scoring import LabelScore, Miss, PartScore, ReadingReport, evaluate_reading

__all__ = [
    "LabelScore",
    "Labelled",
    "Miss",
    "Pace",
    "PartScore",
    "ReadingBench",
    "ReadingReport",
    "bench_reading",
    "evaluate_reading",
    "load_messages",
    "print_reading_bench",
    "print_reading_report",
]
