import { beforeEach, describe, expect, it } from "vitest";
import { History } from "../../src/kernel/history.js";

// "Messaging in Jupyter" 5.3, "History".
describe("the history of a kernel", () => {
  let history: History;
  beforeEach(() => {
    history = new History();
    history.add({ line: 1, input: "const a = 1;", output: null });
    history.add({ line: 2, input: "a + 1", output: "2" });
    history.add({ line: 3, input: "a + 1", output: "2" });
    history.add({ line: 4, input: "f(a)\ng()", output: "7" });
  });

  const lines = (request: object) => history.told(request).map(([, line]) => line);

  it("tells the last ones, oldest first, with their outputs where these are asked for", () => {
    expect(history.told({ hist_access_type: "tail", n: 2 })).toEqual([
      [1, 3, "a + 1"],
      [1, 4, "f(a)\ng()"],
    ]);
    expect(history.told({ hist_access_type: "tail", n: 1, output: true })).toEqual([
      [1, 4, ["f(a)\ng()", "7"]],
    ]);
    expect(lines({ hist_access_type: "tail", n: 99 })).toEqual([1, 2, 3, 4]);
    expect(lines({ hist_access_type: "tail", n: 0 })).toEqual([]);
  });

  it("tells a range of this session, without its end", () => {
    expect(lines({ hist_access_type: "range", session: 0, start: 2, stop: 4 })).toEqual([2, 3]);
    expect(lines({ hist_access_type: "range", session: 1, start: 4 })).toEqual([4]);
    expect(lines({ hist_access_type: "range", session: -1, start: 1, stop: 3 })).toEqual([]);
  });

  it("searches by a pattern in which * and ? stand for others, and nothing else does", () => {
    expect(lines({ hist_access_type: "search", pattern: "a*" })).toEqual([2, 3]);
    expect(lines({ hist_access_type: "search", pattern: "a*", unique: true })).toEqual([3]);
    expect(lines({ hist_access_type: "search", pattern: "f(?)*" })).toEqual([4]);
    expect(lines({ hist_access_type: "search", pattern: "a . 1" })).toEqual([]);
    expect(lines({ hist_access_type: "search", pattern: "*a*", n: 1 })).toEqual([4]);
  });
});
