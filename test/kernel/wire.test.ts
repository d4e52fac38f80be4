import { describe, expect, it } from "vitest";
import { believed, bodyOf, Gate, type Message, signature, signedFrames } from "../../src/kernel/wire.js";

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

const framesOf = (what: Message) => signedFrames(bodyOf(what), key);

describe("the wire protocol", () => {
  it("signs as jupyter_client does", () => {
    expect(signature(key, signed.frames)).toBe(signed.signature);
  });

  it("sends the frames in the order of the protocol: delimiter, signature, header, parent, metadata, content", () => {
    const frames = framesOf(message).map(String);
    expect(frames).toEqual(["<IDS|MSG>", signed.signature, ...signed.frames.map(String)]);
  });

  it("reads back what it sends, with a parent, after routing prefixes and before buffers", () => {
    const answer: Message = { ...message, parent: message.header };
    const identity = Buffer.from("identity");
    const frames = [identity, ...framesOf(answer), Buffer.from([0, 255])];
    expect(believed(frames, key)).toEqual({ identities: [identity], message: answer });
    expect(believed(framesOf(message), key)).toEqual({ identities: [], message });
  });

  it("believes nothing that is not signed with the key", () => {
    const frames = framesOf(message);
    expect(believed(frames, "another key")).toBeUndefined();
    for (const index of [1, 2, 3, 4, 5]) {
      const changed = frames.map((frame, at) =>
        at === index ? Buffer.from(String(frame).replace(/.$/, " ")) : frame,
      );
      expect(believed(changed, key), `frame ${index}`).toBeUndefined();
    }
    for (const given of [Buffer.alloc(0), Buffer.from("é".repeat(32)), Buffer.alloc(64)]) {
      expect(
        believed(
          frames.map((frame, at) => (at === 1 ? given : frame)),
          key,
        ),
      ).toBeUndefined();
    }
  });

  it("drops broken messages without a word", () => {
    const frames = framesOf(message);
    for (const broken of [[], frames.slice(1), frames.slice(0, 5), [frames[0]!]]) {
      expect(believed(broken, key)).toBeUndefined();
    }
    for (const body of [
      ["[]", "{}", "{}", "{}"],
      ["{}", "{}", "{}", "{"],
      ["null", "{}", "{}", "{}"],
    ]) {
      expect(believed(signedFrames(body, key), key)).toBeUndefined();
    }
  });

  it("lets a message in once: one that was overheard cannot be sent again", () => {
    const gate = new Gate(key);
    const frames = [Buffer.from("builder"), ...framesOf(message)];
    expect(gate.admit(frames)?.message).toEqual(message);
    expect(gate.admit(frames)).toBeUndefined();
    expect(gate.admit([Buffer.from("stranger"), ...frames.slice(1)])).toBeUndefined();
    const next = { ...message, header: { ...message.header, msg_id: "2" } };
    expect(gate.admit(framesOf(next))?.message).toEqual(next);
  });
});
