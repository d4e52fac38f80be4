/**
 * The Jupyter wire protocol: a message as signed frames, and back.
 *
 * Source: "Messaging in Jupyter", version 5.3, section "The Wire Protocol"
 * (jupyter-client.readthedocs.io): `[identities…, <IDS|MSG>, signature, header, parent, metadata, content, buffers…]`,
 * the signature being the hexadecimal HMAC-SHA256 of the four JSON frames one after another.
 */
import { createHmac, randomUUID, timingSafeEqual } from "node:crypto";

/** The version of the messaging protocol that is spoken here. */
export const PROTOCOL_VERSION = "5.3";

const DELIMITER = Buffer.from("<IDS|MSG>");
const USERNAME = "polewright";

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

/** An object as JSON has it. */
export type Content = Readonly<Record<string, unknown>>;

/** One message, in either direction. */
export interface Message {
  readonly header: MessageHeader;
  /** The header of the request that this message answers; absent where it answers none. */
  readonly parent?: MessageHeader;
  readonly metadata: Content;
  readonly content: Content;
}

/** A message that came in, and how its sender is reached. */
export interface Received {
  readonly identities: readonly Uint8Array[];
  readonly message: Message;
}

/** What a message says besides its content. */
export interface Circumstances {
  readonly session: string;
  readonly parent?: Message | undefined;
  readonly metadata?: Content;
}

/** A new message of ours. */
export function newMessage(type: string, content: Content, about: Circumstances): Message {
  const { session, parent, metadata = {} } = about;
  return {
    header: {
      msg_id: randomUUID(),
      msg_type: type,
      session,
      username: USERNAME,
      date: new Date().toISOString(),
      version: PROTOCOL_VERSION,
    },
    ...(parent === undefined ? {} : { parent: parent.header }),
    metadata,
    content,
  };
}

/** The type of the message that answers a request. */
export function replyType(request: string): string {
  return request.replace(/_request$/, "_reply");
}

/**
 * The signature of a message's four JSON frames.
 *
 * @param key - the connection's key
 * @param frames - header, parent header, metadata and content, as they go over the wire
 * @returns lower-case hexadecimal HMAC-SHA256
 */
export function signature(key: string, frames: readonly (Uint8Array | string)[]): string {
  const mac = createHmac("sha256", key);
  for (const frame of frames) mac.update(frame);
  return mac.digest("hex");
}

/** A message's four JSON frames, not signed yet. */
export function bodyOf({ header, parent, metadata, content }: Message): string[] {
  return [header, parent ?? {}, metadata, content].map((part) => JSON.stringify(part));
}

/**
 * Frames ready to be sent: delimiter, signature and the four JSON frames.
 *
 * @param body - the four JSON frames
 * @param key - the connection's key
 */
export function signedFrames(body: readonly string[], key: string): Buffer[] {
  return [DELIMITER, ...[signature(key, body), ...body].map((text) => Buffer.from(text, "utf8"))];
}

/**
 * The message in the frames that came in; nothing where frames are missing, where they are not signed with the key, or
 * where one is no JSON object. Why is not said: whoever does not have the key must learn nothing, not even from an
 * error that is printed. Buffers, which are not signed, are dropped.
 *
 * @param frames - the frames as received
 * @param key - the connection's key
 */
export function believed(frames: readonly Uint8Array[], key: string): Received | undefined {
  const delimiter = frames.findIndex((frame) => DELIMITER.equals(frame));
  const body = delimiter < 0 ? [] : frames.slice(delimiter + 2, delimiter + 6);
  if (body.length < 4) return undefined;
  const given = Buffer.from(frames[delimiter + 1]!);
  const expected = Buffer.from(signature(key, body), "ascii");
  if (given.length !== expected.length || !timingSafeEqual(given, expected)) return undefined;
  const [header, parent, metadata, content] = body.map(jsonObject);
  if (header === undefined || parent === undefined || metadata === undefined || content === undefined) return;
  const message = {
    header: header as unknown as MessageHeader,
    ...(typeof parent.msg_id === "string" ? { parent: parent as unknown as MessageHeader } : {}),
    metadata,
    content,
  };
  return { identities: frames.slice(0, delimiter), message };
}

function jsonObject(frame: Uint8Array): Record<string, unknown> | undefined {
  try {
    const value: unknown = JSON.parse(Buffer.from(frame).toString("utf8"));
    const isObject = typeof value === "object" && value !== null && !Array.isArray(value);
    return isObject ? (value as Record<string, unknown>) : undefined;
  } catch {
    return undefined;
  }
}

/** As many signatures as jupyter_client remembers (`Session.digest_history_size`). */
const REMEMBERED = 65_536;

/** Lets in what is signed with the key and was not there before: a message overheard cannot be sent again. */
export class Gate {
  readonly #key: string;
  readonly #seen = new Set<string>();

  /** @param key - the connection's key */
  constructor(key: string) {
    this.#key = key;
  }

  /** The message in the frames, or nothing: see {@link believed}. */
  admit(frames: readonly Uint8Array[]): Received | undefined {
    const received = believed(frames, this.#key);
    if (received === undefined) return undefined;
    const signed = Buffer.from(frames[received.identities.length + 1]!).toString("ascii");
    if (this.#seen.has(signed)) return undefined;
    this.#seen.add(signed);
    if (this.#seen.size > REMEMBERED) this.#seen.delete(this.#seen.values().next().value!);
    return received;
  }
}
