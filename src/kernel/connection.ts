/**
 * A kernel's connection: where its five sockets listen and with which key its messages are signed.
 *
 * Source: "Connection files" in the Jupyter client documentation, "Making kernels for Jupyter".
 */
import { PolewrightError, shown } from "../errors.js";

/** What a connection file holds. */
export interface Connection {
  readonly transport: string;
  readonly ip: string;
  readonly shell_port: number;
  readonly iopub_port: number;
  readonly stdin_port: number;
  readonly control_port: number;
  readonly hb_port: number;
  readonly key: string;
  readonly signature_scheme: string;
}

/** The ports of a connection, by their names in the file. */
const PORT_NAMES = ["shell_port", "iopub_port", "stdin_port", "control_port", "hb_port"] as const;

/**
 * Where one of a connection's sockets listens, as ZeroMQ writes it.
 *
 * @param connection - the connection; with `ipc` its `ip` is the beginning of the sockets' paths
 * @param port - one of its ports
 */
export function addressOf({ transport, ip }: Pick<Connection, "transport" | "ip">, port: number): string {
  return transport === "ipc" ? `ipc://${ip}-${port}` : `tcp://${ip}:${port}`;
}

/** Whether an address can be reached from this computer only. */
export function isLoopback(ip: string): boolean {
  return /^127(\.\d{1,3}){3}$/.test(ip) || ip === "localhost" || ip === "::1" || ip === "[::1]";
}

/**
 * Reads a connection file's text, and refuses one that would let others in: a kernel runs whatever it is sent.
 *
 * @param text - the file's text
 * @throws PolewrightError `kernel-connection` naming everything that is wrong
 */
export function connectionFromText(text: string): Connection {
  let value: Partial<Record<keyof Connection, unknown>>;
  try {
    value = JSON.parse(text) as typeof value;
  } catch {
    throw new PolewrightError("kernel-connection", "The connection file is not JSON.");
  }
  const wrong: string[] = [];
  if (value.transport !== "tcp" && value.transport !== "ipc")
    wrong.push(`transport is ${shown(value.transport)}, only "tcp" and "ipc" are served`);
  if (value.transport === "ipc") {
    if (typeof value.ip !== "string" || value.ip === "")
      wrong.push(`ip is ${shown(value.ip)}, not the beginning of the sockets' paths`);
  } else if (typeof value.ip !== "string" || !isLoopback(value.ip)) {
    wrong.push(
      `ip is ${shown(value.ip)}; the kernel runs whatever it is sent, so it listens on this computer only (127.0.0.1)`,
    );
  }
  if (typeof value.key !== "string" || value.key === "")
    wrong.push("key is missing, so messages could not be checked");
  if (value.signature_scheme !== "hmac-sha256") {
    wrong.push(`signature_scheme is ${shown(value.signature_scheme)}, only "hmac-sha256" is served`);
  }
  for (const name of PORT_NAMES) {
    const port = value[name];
    if (typeof port !== "number" || !Number.isInteger(port) || port < 1 || port > 65535) {
      wrong.push(`${name} is ${shown(port)}, not a port from 1 to 65535`);
    }
  }
  if (wrong.length > 0) {
    throw new PolewrightError(
      "kernel-connection",
      `The connection file cannot be used: ${wrong.join("; ")}.`,
    );
  }
  return value as Connection;
}
