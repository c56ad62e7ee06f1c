from __future__ import annotations
def judge_job(job, machine, sink):
    return True
