import { describe, expect, it } from "vitest";
import { connectionFromText, isLoopback } from "../../src/kernel/connection.js";

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

  it("names everything that is wrong at once", () => {
    const text = JSON.stringify({
      ...documented,
      transport: "ipc",
      key: "",
      hb_port: 0,
      signature_scheme: "none",
    });
    expect(() => connectionFromText(text)).toThrow(
      /transport is ipc.*key is missing.*signature_scheme is none.*hb_port is 0, not a port/,
    );
    expect(() => connectionFromText("{")).toThrow("The connection file is not JSON.");
  });
});
