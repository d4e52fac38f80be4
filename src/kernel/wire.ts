/**
 * The Jupyter wire protocol: a message as signed frames, and back.
 *
 * Source: "Messaging in Jupyter", version 5.3, section "The Wire Protocol"
 * (jupyter-client.readthedocs.io): `[identities…, <IDS|MSG>, signature, header, parent, metadata, content, buffers…]`,
 * the signature being the hexadecimal HMAC-SHA256 of the four JSON frames one after another.
 */
import { createHmac, timingSafeEqual } from "node:crypto";
import { PolewrightError } from "../errors.js";

/** The version of the messaging protocol that is spoken here. */
export const PROTOCOL_VERSION = "5.3";

const DELIMITER = Buffer.from("<IDS|MSG>");

/** Who says what, and when. */
interface MessageHeader {
  readonly msg_id: string;
  readonly msg_type: string;
  readonly session: string;
  readonly username: string;
  /** ISO 8601 with zone. */
  readonly date: string;
  readonly version: string;
}

/** One message, in either direction. */
export interface Message {
  readonly header: MessageHeader;
  /** The header of the request that this message answers; absent where it answers none. */
  readonly parent?: MessageHeader;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly content: Readonly<Record<string, unknown>>;
}

/**
 * The signature of a message's four JSON frames.
 *
 * @param key - the connection's key
 * @param frames - header, parent header, metadata and content, as they go over the wire
 * @returns lower-case hexadecimal HMAC-SHA256
 */
export function signature(key: string, frames: readonly Uint8Array[]): string {
  const mac = createHmac("sha256", key);
  for (const frame of frames) mac.update(frame);
  return mac.digest("hex");
}

/**
 * A message as frames, ready to be sent.
 *
 * @param message - the message
 * @param key - the connection's key
 * @returns delimiter, signature and the four JSON frames
 */
export function framesFromMessage(message: Message, key: string): Buffer[] {
  const body = [message.header, message.parent ?? {}, message.metadata, message.content].map((part) =>
    Buffer.from(JSON.stringify(part), "utf8"),
  );
  return [DELIMITER, Buffer.from(signature(key, body), "ascii"), ...body];
}

/**
 * The message in the frames that came in. Routing prefixes (identities or a topic) and raw buffers are dropped.
 *
 * @param frames - the frames as received
 * @param key - the connection's key
 * @throws PolewrightError `kernel-message-frames` where frames are missing, `kernel-message-signature` where the
 *   signature is not that of the frames, `kernel-message-json` where a frame is not a JSON object
 */
export function messageFromFrames(frames: readonly Uint8Array[], key: string): Message {
  const delimiter = frames.findIndex((frame) => DELIMITER.equals(frame));
  const body = delimiter < 0 ? [] : frames.slice(delimiter + 2, delimiter + 6);
  if (body.length < 4) {
    throw new PolewrightError("kernel-message-frames", "A message from the kernel lacks frames.");
  }
  const given = Buffer.from(frames[delimiter + 1]!);
  const expected = Buffer.from(signature(key, body), "ascii");
  if (given.length !== expected.length || !timingSafeEqual(given, expected)) {
    throw new PolewrightError(
      "kernel-message-signature",
      "A message on the kernel's port is not signed with this connection's key; it was not believed.",
    );
  }
  const [header, parent, metadata, content] = body.map(jsonObject);
  return {
    header: header as unknown as MessageHeader,
    ...(typeof parent!.msg_id === "string" ? { parent: parent as unknown as MessageHeader } : {}),
    metadata: metadata!,
    content: content!,
  };
}

function jsonObject(frame: Uint8Array): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(Buffer.from(frame).toString("utf8"));
    if (typeof value === "object" && value !== null && !Array.isArray(value))
      return value as Record<string, unknown>;
  } catch {
    // Reported below, like any other frame that is no JSON object.
  }
  throw new PolewrightError(
    "kernel-message-json",
    "A message from the kernel has a frame that is no JSON object.",
  );
}
