"""The kernel held against the ecosystem's own suite (Debian: python3-jupyter-kernel-test), with samples for everything
that it can test. It runs under a Jupyter data folder of its own; the last line states the counts.

/usr/bin/python3 test/kernel/protocol.py, after npm run build
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import unittest
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

scratch = tempfile.TemporaryDirectory(prefix="polewright-protocol-")
for name in ("DATA", "CONFIG", "RUNTIME"):
    os.environ[f"JUPYTER_{name}_DIR"] = str(Path(scratch.name, name.lower()))
subprocess.run(["node", str(ROOT / "dist/cli/main.js"), "kernel", "add"], check=True, stdout=subprocess.DEVNULL)

import jupyter_kernel_test  # noqa: E402  (the folders must be set before it is loaded)
import zmq  # noqa: E402
from jupyter_client.manager import start_new_kernel  # noqa: E402
from jupyter_client.utils import run_sync  # noqa: E402
from jupyter_kernel_test import TIMEOUT  # noqa: E402


def next_message(channel):
    return run_sync(channel.get_msg)(timeout=TIMEOUT)


class Protocol(jupyter_kernel_test.KernelTests):
    kernel_name = "polewright"
    language_name = "typescript"
    file_extension = ".ts"

    code_hello_world = 'console.log("hello, world")'
    code_stderr = 'console.error("oops")'
    code_display_data = [
        {"code": 'import * as tslab from "tslab"; tslab.display.html("<b>hi</b>")', "mime": "text/html"},
        {"code": 'import { show } from "polewright"; show("a report");', "mime": "text/html"},
    ]
    code_execute_result = [
        {"code": "6 * 7", "result": "42"},
        {"code": '"north"', "result": "north"},
        {"code": "[1, 2]", "result": "[ 1, 2 ]"},
        {"code": 'import { explain } from "polewright"; explain("cone")', "mime": "text/html"},
    ]
    code_generate_error = 'throw new Error("on purpose")'
    code_page_something = "Math?"
    code_inspect_sample = "Math"
    code_clear_output = "console.clear()"
    code_history_pattern = "6 ?*7"
    supported_history_operations = ("tail", "range", "search")
    completion_samples = [
        {"text": "Math.hypo", "matches": {"hypot"}},
        {"text": 'import { openNight } from "polewright"; openNight("").sight("Achern', "matches": {"Achernar"}},
        {"text": 'const nothing = "'},
    ]
    complete_code_samples = ["1", "const a = 2;", "function f() {\n  return 1;\n}", "await f()", "`done`", "Math?", ""]
    incomplete_code_samples = [
        "function f() {",
        "`an open\n\n\ntemplate",
        "`with ${ a",
        "[1, 2,",
        "f(1,\n",
        "/* a comment",
        "if (true) {\n  f();\n",
        "const x =",
        "1 +",
    ]
    invalid_code_samples = ["const = 3", "f(1 2) {", "}", '"open', "class {{ a: }", "let 1a = 2; {"]

    def ask(self, channel, kind, content=None):
        message = self.kc.session.msg(kind, content or {})
        channel.send(message)
        return message["header"]["msg_id"]

    def reply_to(self, channel, asked):
        while True:
            reply = next_message(channel)
            if reply["parent_header"].get("msg_id") == asked:
                return reply

    def test_kernel_info_is_true(self):
        told = self.reply_to(self.kc.shell_channel, self.ask(self.kc.shell_channel, "kernel_info_request"))
        content = told["content"]
        self.assertEqual(content["status"], "ok")
        self.assertEqual(content["implementation"], "polewright")
        version = subprocess.check_output(["node", str(ROOT / "dist/cli/main.js"), "--version"], text=True).strip()
        self.assertEqual(content["implementation_version"], version)
        path = ROOT / "node_modules/@tslab/typescript-for-tslab/bin/tsc"
        compiler = subprocess.check_output(["node", str(path), "--version"], text=True)
        self.assertIn(content["language_info"]["version"], compiler)

    def test_comm_info(self):
        asked = self.ask(self.kc.shell_channel, "comm_info_request", {"target_name": "jupyter.widget"})
        reply = self.reply_to(self.kc.shell_channel, asked)
        jupyter_kernel_test.validate_message(reply, "comm_info_reply", asked)

    def test_interrupts_by_message_what_does_not_let_go(self):
        for code in ("while (true) {}", "await new Promise(() => {})"):
            with self.subTest(code=code):
                self.flush_channels()
                running = self.kc.execute(code)
                while self.kc.get_iopub_msg(timeout=TIMEOUT)["msg_type"] != "execute_input":
                    pass
                # Compiling comes before running; the interruption is meant for the latter.
                time.sleep(1)
                control = self.kc.control_channel
                asked = self.ask(control, "interrupt_request")
                jupyter_kernel_test.validate_message(self.reply_to(control, asked), "interrupt_reply", asked)
                reply = self.reply_to(self.kc.shell_channel, running)
                self.assertEqual(reply["content"]["status"], "error")
                self.assertEqual(reply["content"]["ename"], "Interrupted")

    def test_answers_on_control_while_a_cell_runs(self):
        self.flush_channels()
        running = self.kc.execute("for (const end = Date.now() + 3000; Date.now() < end; ) {}")
        asked = self.ask(self.kc.control_channel, "kernel_info_request")
        self.assertEqual(self.reply_to(self.kc.control_channel, asked)["content"]["status"], "ok")
        self.assertTrue(self.kc.is_alive())
        self.reply_to(self.kc.shell_channel, running)

    def test_only_what_waits_behind_an_error_is_not_run(self):
        for stop in (True, False):
            with self.subTest(stop_on_error=stop):
                self.flush_channels()
                sent = [
                    self.kc.execute("for (const end = Date.now() + 500; Date.now() < end; ) {}\nthrow 1", stop_on_error=stop),
                    self.kc.execute("2"),
                    self.kc.execute("3"),
                ]
                status = [self.reply_to(self.kc.shell_channel, one)["content"]["status"] for one in sent]
                self.assertEqual(status, ["error", "aborted", "aborted"] if stop else ["error", "ok", "ok"])
                self.flush_channels()
                self.assertEqual(self.execute_helper("4")[0]["content"]["status"], "ok")

    def test_what_is_silent_is_not_counted(self):
        self.flush_channels()
        first = self.execute_helper("1")[0]["content"]["execution_count"]
        reply, output = self.execute_helper("console.log(1); 2", silent=True, store_history=False)
        self.assertEqual([message["msg_type"] for message in output], [])
        self.execute_helper("3", store_history=False)
        self.assertEqual(self.execute_helper("4")[0]["content"]["execution_count"], first + 1)

    def test_user_expressions(self):
        asked = self.kc.execute("const seven = 7;", user_expressions={"more": "seven + 1", "wrong": "nothing.at"})
        told = self.reply_to(self.kc.shell_channel, asked)["content"]["user_expressions"]
        self.assertEqual(told["more"]["data"], {"text/plain": "8"})
        self.assertEqual(told["wrong"]["status"], "error")


    def test_a_stranger_gets_nothing(self):
        """Without the key: forged, overheard what is published, tried again with what was there."""
        self.flush_channels()
        spoils = Path(scratch.name, "spoils")
        told = self.km.get_connection_info()
        context = zmq.Context()
        heard, shell, control = context.socket(zmq.SUB), context.socket(zmq.DEALER), context.socket(zmq.DEALER)
        for socket, port in ((heard, "iopub_port"), (shell, "shell_port"), (control, "control_port")):
            socket.linger = 0
            socket.connect(f"tcp://{told['ip']}:{told[port]}")
        heard.subscribe(b"")
        time.sleep(0.5)

        def overheard():
            frames = []
            while heard.poll(500):
                frames.append(heard.recv_multipart())
            return frames

        code = f'require("node:fs").writeFileSync({json.dumps(str(spoils))}, "")'
        header = {"msg_id": "1", "msg_type": "execute_request", "session": "s", "username": "u", "version": "5.3"}
        body = [json.dumps(part).encode() for part in (header, {}, {}, {"code": code})]
        signature = self.kc.session.sign(body)
        for socket in (shell, control):
            for given in (b"", b"0" * 64, "é".encode() * 32):
                socket.send_multipart([b"<IDS|MSG>", given, *body])
        self.execute_helper('console.log("the owner")')
        frames = overheard()
        published = b"\n".join(frame for message in frames for frame in message)
        self.assertIn(b"the owner", published)
        self.assertNotIn(signature, published)
        for given in set(re.findall(rb"[0-9a-f]{64}", published)):
            shell.send_multipart([b"<IDS|MSG>", given, *body])
        for message in frames:
            shell.send_multipart(message[1:])
        self.assertEqual(shell.poll(1000) + control.poll(0), 0)
        self.assertFalse(spoils.exists())
        # The same with the right signature is obeyed: so it was the signature that kept the stranger out.
        shell.send_multipart([b"<IDS|MSG>", signature, *body])
        self.assertTrue(shell.poll(TIMEOUT * 1000))
        self.assertTrue(spoils.exists())
        for socket in (heard, shell, control):
            socket.close()
        context.term()


class Shutdown(unittest.TestCase):
    def test_ends_by_message_even_while_a_cell_runs(self):
        manager, client = start_new_kernel(kernel_name="polewright")
        client.execute("while (true) {}")
        client.shutdown()
        self.assertEqual(next_message(client.control_channel)["msg_type"], "shutdown_reply")
        client.stop_channels()
        manager.provisioner.process.wait(TIMEOUT)
        manager.cleanup_resources()


outcome = unittest.TextTestRunner(stream=sys.stdout, verbosity=2).run(
    unittest.defaultTestLoader.loadTestsFromModule(sys.modules[__name__])
)
# A sample that is missing makes the suite skip: that is no pass.
bad = len(outcome.failures) + len(outcome.errors) + len(outcome.skipped)
print(f"{outcome.testsRun - bad} passed, {bad} failed")
sys.exit(bad > 0)
