"""Long computations: asked for, queued in the database, run by worker processes, read when they are done.

kind.py, kinds/   what can be computed; no Django, because the computing process has no database
starting.py       asking for a job, and taking it back
reading.py        looking at jobs
queue.py          the only place that moves a job from state to state once it waits
worker.py         the process that takes jobs; heart.py its heartbeat, process.py its hold on the computing process
child.py          the computing process
"""
