import { describe, expect, it } from "vitest";
import { addressOf, connectionFromText, isLoopback } from "../../src/kernel/connection.js";

// The example of a connection file in the documentation "Making kernels for Jupyter" (jupyter-client).
const documented = {
  control_port: 50160,
  shell_port: 57503,
  transport: "tcp",
  signature_scheme: "hmac-sha256",
  stdin_port: 52597,
  hb_port: 42540,
  ip: "127.0.0.1",
  iopub_port: 40885,
  key: "a0436f6c-1916-498b-8eb9-e81ab9368e84",
};

describe("a connection file", () => {
  it("is read as documented", () => {
    expect(connectionFromText(JSON.stringify(documented))).toEqual(documented);
  });

  it.each(["127.0.0.1", "127.8.9.10", "localhost", "::1"])("may listen on %s", (ip) => {
    expect(isLoopback(ip)).toBe(true);
  });

  it.each(["0.0.0.0", "*", "192.168.1.20", "::", "127.0.0.1.example.org", "", "10.127.0.0.1"])(
    "may not listen on %j, where others could reach it",
    (ip) => {
      expect(isLoopback(ip)).toBe(false);
      expect(() => connectionFromText(JSON.stringify({ ...documented, ip }))).toThrow(/this computer only/);
    },
  );

  it("may be sockets of the file system, as jupyter_client writes it with --transport=ipc", () => {
    const inFolder = { ...documented, transport: "ipc", ip: "/run/user/1000/jupyter/kernel-1-ipc" };
    expect(connectionFromText(JSON.stringify(inFolder))).toEqual(inFolder);
    // jupyter_client/connect.py, ConnectionFileMixin._make_url.
    expect(addressOf(inFolder, 3)).toBe("ipc:///run/user/1000/jupyter/kernel-1-ipc-3");
    expect(addressOf(documented, 57503)).toBe("tcp://127.0.0.1:57503");
  });

  it("names everything that is wrong at once", () => {
    const text = JSON.stringify({
      ...documented,
      transport: "pgm",
      key: "",
      hb_port: 0,
      signature_scheme: "none",
    });
    expect(() => connectionFromText(text)).toThrow(
      /transport is pgm.*key is missing.*signature_scheme is none.*hb_port is 0, not a port/,
    );
    expect(() => connectionFromText("{")).toThrow("The connection file is not JSON.");
  });
});
