"""Runs programs on the controller, from inside it; takes the place of an operator's screen.

The controller starts this with the Python of the system, which has its modules. The folder
with ``jobs.json`` is in ``BENCH_WORK``; what happened is written to ``driver.json`` there, the
place in every servo cycle to ``samples.txt``.
"""

import json
import os
import subprocess
import time
from pathlib import Path

import hal
import linuxcnc

WORK = Path(os.environ["BENCH_WORK"])


class Machine:
    """The running controller."""

    def __init__(self):
        self.command = linuxcnc.command()
        self.state = linuxcnc.stat()
        self.errors = linuxcnc.error_channel()
        self.messages = []

    def wait(self, done, limit):
        """Wait until a condition on the state holds; return whether it did [s]."""
        end = time.monotonic() + limit
        while time.monotonic() < end:
            self.state.poll()
            while (message := self.errors.poll()) is not None:
                self.messages.append(message[1])
            if done(self.state):
                return True
            time.sleep(0.01)
        return False

    def idle(self, limit):
        """Wait until nothing runs and nothing is left to run."""

        def resting(s):
            nothing = s.interp_state == linuxcnc.INTERP_IDLE and s.queue == 0
            return nothing and s.exec_state == linuxcnc.EXEC_DONE and s.inpos

        return self.wait(resting, limit)

    def switch_on(self):
        """Release the stop, switch on and home all axes."""
        for state in (linuxcnc.STATE_ESTOP_RESET, linuxcnc.STATE_ON):
            self.command.state(state)
            self.command.wait_complete()
        self.command.mode(linuxcnc.MODE_MANUAL)
        self.command.wait_complete()
        self.command.teleop_enable(0)
        self.command.wait_complete()
        self.command.home(-1)
        return self.wait(lambda s: all(s.homed[:3]), 10.0)

    def run(self, job, number, pin):
        """Go to where a program starts, run it, and mark its cycles with its number."""
        x, y, z = job["start"]
        self.command.mode(linuxcnc.MODE_MDI)
        self.command.wait_complete()
        self.command.mdi(f"G21 G90 G0 X{x:.6f} Y{y:.6f} Z{z:.6f}")
        self.command.wait_complete(60)
        if not self.idle(60.0):
            return False
        self.command.mode(linuxcnc.MODE_AUTO)
        self.command.wait_complete()
        self.command.program_open(job["file"])
        self.command.wait_complete()
        pin["run"] = number
        time.sleep(0.03)
        self.command.auto(linuxcnc.AUTO_RUN, 0)
        time.sleep(0.05)
        done = self.idle(job["limit_s"])
        time.sleep(0.05)
        pin["run"] = 0
        if not done:
            self.command.abort()
            self.command.wait_complete()
        return done


def main():
    """Run all programs."""
    pin = hal.component("bench")
    pin.newpin("run", hal.HAL_S32, hal.HAL_OUT)
    pin["run"] = 0
    pin.ready()
    subprocess.run(["halcmd", "net", "bench-run", "bench.run", "sampler.0.pin.0"], check=True)
    report = {"homed": False, "done": [], "messages": []}
    machine = Machine()
    sampler = subprocess.Popen(["halsampler", "-t", "-c", "0", str(WORK / "samples.txt")])
    try:
        report["homed"] = machine.switch_on()
        for number, job in enumerate(json.loads((WORK / "jobs.json").read_text()), 1):
            report["done"].append(machine.run(job, number, pin))
    finally:
        time.sleep(0.3)
        sampler.terminate()
        sampler.wait(10)
        report["messages"] = machine.messages
        (WORK / "driver.json").write_text(json.dumps(report))


main()
