import { describe, expect, it } from "vitest";
import { PolewrightError } from "../../src/errors.js";
import { framesFromMessage, type Message, messageFromFrames, signature } from "../../src/kernel/wire.js";

const key = "a0436f6c-1916-498b-8eb9-e81ab9368e84";

// Computed with the Python package jupyter_client 7.4.9: Session(key=…, signature_scheme="hmac-sha256").sign(frames).
const signed = {
  frames: [
    '{"msg_id":"1","msg_type":"execute_request","session":"s","username":"builder","date":"2026-03-14T19:22:10Z","version":"5.3"}',
    "{}",
    "{}",
    '{"code":"night.sight(\\"Zubenelgenubi\\") // élevé"}',
  ].map((text) => Buffer.from(text)),
  signature: "a6aa76767805a346bc03d96e2682b2ecfd8ebf1245c0da61bcfb5dc19dd73cbf",
};

const message: Message = {
  header: {
    msg_id: "1",
    msg_type: "execute_request",
    session: "s",
    username: "builder",
    date: "2026-03-14T19:22:10Z",
    version: "5.3",
  },
  metadata: {},
  content: { code: 'night.sight("Zubenelgenubi") // élevé' },
};

function codeOf(action: () => unknown): string | undefined {
  try {
    action();
  } catch (error) {
    return error instanceof PolewrightError ? error.code : String(error);
  }
  return undefined;
}

describe("the wire protocol", () => {
  it("signs as jupyter_client does", () => {
    expect(signature(key, signed.frames)).toBe(signed.signature);
  });

  it("sends the frames in the order of the protocol: delimiter, signature, header, parent, metadata, content", () => {
    const frames = framesFromMessage(message, key).map(String);
    expect(frames).toEqual(["<IDS|MSG>", signed.signature, ...signed.frames.map(String)]);
  });

  it("reads back what it sends, with a parent, after routing prefixes and before buffers", () => {
    const answer: Message = { ...message, parent: message.header };
    const frames = [Buffer.from("identity"), ...framesFromMessage(answer, key), Buffer.from([0, 255])];
    expect(messageFromFrames(frames, key)).toEqual(answer);
    expect(messageFromFrames(framesFromMessage(message, key), key)).toEqual(message);
  });

  it("believes nothing that is not signed with the key", () => {
    const frames = framesFromMessage(message, key);
    expect(codeOf(() => messageFromFrames(frames, "another key"))).toBe("kernel-message-signature");
    for (const index of [1, 2, 3, 4, 5]) {
      const changed = frames.map((frame, at) =>
        at === index ? Buffer.from(String(frame).replace(/.$/, " ")) : frame,
      );
      expect(
        codeOf(() => messageFromFrames(changed, key)),
        `frame ${index}`,
      ).toBe("kernel-message-signature");
    }
    const unsigned = frames.map((frame, at) => (at === 1 ? Buffer.alloc(0) : frame));
    expect(codeOf(() => messageFromFrames(unsigned, key))).toBe("kernel-message-signature");
  });

  it("says which way a message is broken", () => {
    const frames = framesFromMessage(message, key);
    expect(codeOf(() => messageFromFrames(frames.slice(1), key))).toBe("kernel-message-frames");
    expect(codeOf(() => messageFromFrames(frames.slice(0, 5), key))).toBe("kernel-message-frames");
    const body = ["[]", "{}", "{}", "{}"].map((text) => Buffer.from(text));
    const list = [frames[0]!, Buffer.from(signature(key, body)), ...body];
    expect(codeOf(() => messageFromFrames(list, key))).toBe("kernel-message-json");
  });
});
