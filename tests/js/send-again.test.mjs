import assert from "node:assert/strict";
import test from "node:test";

import { SendAgain, mark, randomKey, tokenIn } from "../../static/js/send-again.js";

/** A server that answers from a list; a number is a status, "lost" is a connection that breaks. */
function server(...answers) {
  const seen = [];
  const request = async (address, options) => {
    const answer = answers.shift();
    seen.push({ address, token: options.headers["X-CSRFToken"], body: JSON.parse(options.body) });
    await null;
    if (answer === "lost") throw new TypeError("Failed to fetch");
    if (answer === "redirect") return { type: "opaqueredirect", status: 0, ok: false, headers: new Headers() };
    const [status, data] = Array.isArray(answer) ? answer : [answer, {}];
    const kind = data === null ? "text/html" : "application/json";
    return { status, ok: status < 300, type: "basic", headers: new Headers({ "Content-Type": kind }), json: async () => data };
  };
  return { request, seen };
}

function queueFor(line, more = {}) {
  let number = 0;
  const timers = [];
  const states = [];
  const queue = new SendAgain({
    request: line.request,
    token: () => "token",
    newKey: () => `key-${++number}`,
    later: (f, ms) => timers.push({ f, ms }),
    never: () => timers.pop(),
    told: (state, size) => states.push(`${state} ${size}`),
    ...more,
  });
  return { queue, timers, states };
}

function job(name, told, body = { value: name }) {
  const say = (word) => (data) => told.push(`${name} ${word}${typeof data === "string" ? " " + data : ""}`);
  return {
    name,
    address: "/save/",
    build: () => (typeof body === "function" ? body() : body),
    saved: say("saved"),
    changed: say("changed"),
    refused: say("refused"),
    failed: (status) => told.push(`${name} failed ${status}`),
    waiting: say("waiting"),
  };
}

const settled = () => new Promise((done) => setTimeout(done, 5));

test("a saved job tells its field and leaves the queue empty", async () => {
  const line = server(200);
  const { queue, states } = queueFor(line);
  const told = [];
  await queue.put(job("overjet 11", told));
  assert.deepEqual(told, ["overjet 11 saved"]);
  assert.equal(queue.size, 0);
  assert.equal(states.at(-1), "idle 0");
  assert.equal(line.seen[0].token, "token");
});

test("a lost answer is sent again with the same request key and the same body", async () => {
  const line = server("lost", 200);
  let typed = "3";
  const { queue, timers } = queueFor(line);
  const told = [];
  await queue.put(job("a", told, () => ({ value: typed })));
  assert.equal(queue.state, "offline");
  typed = "4";
  await queue.again();
  assert.deepEqual(line.seen.map((s) => s.body), [
    { value: "3", request_key: "key-1" },
    { value: "3", request_key: "key-1" },
  ]);
  assert.deepEqual(told, ["a waiting offline", "a saved"]);
  assert.equal(timers.length, 0);
});

test("the queue tries again by itself and waits longer each time", async () => {
  const line = server("lost", "lost", "lost", 200);
  const { queue, timers } = queueFor(line);
  const told = [];
  await queue.put(job("a", told));
  const pauses = [];
  while (timers.length) {
    const timer = timers.at(-1);
    pauses.push(timer.ms);
    timers.length = 0;
    timer.f();
    await settled();
  }
  assert.deepEqual(pauses, [1000, 2000, 4000]);
  assert.equal(told.at(-1), "a saved");
});

test("a field typed again while its first value may have arrived is sent as a second job after the first", async () => {
  const line = server("lost", 200, 200);
  const { queue } = queueFor(line);
  const told = [];
  await queue.put(job("a", told, { value: "1" }));
  queue.put(job("a", told, { value: "2" }));
  queue.put(job("a", told, { value: "3" }));
  assert.equal(queue.size, 2);
  await queue.again();
  assert.deepEqual(line.seen.map((s) => s.body), [
    { value: "1", request_key: "key-1" },
    { value: "1", request_key: "key-1" },
    { value: "3", request_key: "key-2" },
  ]);
});

test("a job that is replaced before it left is told so, and one that has left is not", async () => {
  const line = server("lost", 200, 200);
  const { queue } = queueFor(line);
  const told = [];
  for (const value of ["1", "2", "3"]) {
    queue.put({ ...job("a", [], { value }), replaced: () => told.push(value) });
    await settled();
  }
  assert.deepEqual(told, ["2"]);
  await queue.again();
  assert.equal(queue.size, 0);
});

test("the body of a waiting job is built when it leaves, so it knows what the one before it changed", async () => {
  const line = server(200, 200);
  const { queue } = queueFor(line);
  let seen = 0;
  const first = job("a", [], () => ({ seen }));
  first.saved = () => {
    seen = 7;
  };
  const done = queue.put(first);
  queue.put(job("b", [], () => ({ seen })));
  await done;
  assert.deepEqual(line.seen.map((s) => s.body.seen), [0, 7]);
});

test("jobs are sent one after the other in the order in which they were put", async () => {
  let open = 0;
  let most = 0;
  const line = server(200, 200, 200);
  const request = async (...all) => {
    open += 1;
    most = Math.max(most, open);
    const answer = await line.request(...all);
    open -= 1;
    return answer;
  };
  const { queue } = queueFor(line, { request });
  const told = [];
  const done = queue.put(job("a", told));
  queue.put(job("b", told));
  queue.put(job("c", told));
  await done;
  assert.deepEqual(told, ["a saved", "b saved", "c saved"]);
  assert.equal(most, 1);
});

test("a change by somebody else is handed to the field and the next job goes on", async () => {
  const line = server([409, { theirs: [] }], 200);
  const { queue } = queueFor(line);
  const told = [];
  const done = queue.put(job("a", told));
  queue.put(job("b", told));
  await done;
  assert.deepEqual(told, ["a changed", "b saved"]);
});

test("a refused value is handed to the field and not sent again", async () => {
  const line = server([422, { faults: [] }]);
  const { queue, timers } = queueFor(line);
  const told = [];
  await queue.put(job("a", told));
  assert.deepEqual(told, ["a refused"]);
  assert.equal(queue.size, 0);
  assert.equal(timers.length, 0);
});

test("signed out: everything typed stays, nothing is tried until somebody signed in, then the same key goes again", async () => {
  const line = server([401, {}], 200, 200);
  let token = "old";
  const { queue, timers } = queueFor(line, { token: () => token });
  const told = [];
  await queue.put(job("a", told));
  queue.put(job("b", told));
  assert.equal(queue.state, "signed-out");
  assert.equal(timers.length, 0);
  assert.equal(queue.size, 2);
  token = "new";
  await queue.again();
  assert.deepEqual(line.seen.map((s) => [s.token, s.body.request_key]), [["old", "key-1"], ["new", "key-1"], ["new", "key-2"]]);
  assert.deepEqual(told, ["a waiting signed-out", "b waiting signed-out", "a saved", "b saved"]);
});

test("a redirect to a sign-in page and a page where JSON was due count as signed out", async () => {
  for (const answer of ["redirect", [200, null]]) {
    const { queue } = queueFor(server(answer));
    await queue.put(job("a", []));
    assert.equal(queue.state, "signed-out");
    assert.equal(queue.size, 1);
  }
});

test("a refused token is read anew from the cookie once, then the page asks to sign in", async () => {
  const tokens = ["old", "new", "new", "new"];
  const line = server([403, null], [403, null]);
  const { queue } = queueFor(line, { token: () => tokens.shift() });
  await queue.put(job("a", []));
  assert.deepEqual(line.seen.map((s) => s.token), ["old", "new"].map((_, i) => ["old", "new"][i]));
  assert.equal(queue.state, "signed-out");
});

test("a refusal in words with status 403 reaches the field", async () => {
  const { queue } = queueFor(server([403, { message: "sealed" }]));
  const told = [];
  await queue.put(job("a", told));
  assert.deepEqual(told, ["a failed 403"]);
});

test("a busy server is asked again later with the same key", async () => {
  const line = server([503, {}], 200);
  const { queue, timers } = queueFor(line);
  const told = [];
  await queue.put(job("a", told));
  assert.equal(queue.state, "busy");
  timers[0].f();
  await settled();
  assert.deepEqual(line.seen.map((s) => s.body.request_key), ["key-1", "key-1"]);
  assert.deepEqual(told, ["a waiting busy", "a saved"]);
});

test("an unexpected failure is told to its field and does not hold up the others", async () => {
  const line = server([500, null], 200);
  const { queue } = queueFor(line);
  const told = [];
  const done = queue.put(job("a", told));
  queue.put(job("b", told));
  await done;
  assert.deepEqual(told, ["a failed 500", "b saved"]);
});

test("the token is found among other cookies and an absent one is an empty text", () => {
  assert.equal(tokenIn("theme=plain; csrf_1=ab%3Dc; csrf_2=no; sessionid=x", "csrf_1"), "ab=c");
  assert.equal(tokenIn("xcsrf_1=no", "csrf_1"), "");
  assert.equal(tokenIn("", "csrf_1"), "");
});

test("request keys are 32 hexadecimal digits and differ", () => {
  const one = randomKey();
  assert.match(one, /^[0-9a-f]{32}$/);
  assert.notEqual(one, randomKey());
});

test("a mark is a state and words, and can be taken away", () => {
  const words = { textContent: "" };
  const holder = { dataset: {}, querySelector: () => words };
  mark(holder, "waiting", "not sent yet");
  assert.deepEqual([holder.dataset.mark, words.textContent], ["waiting", "not sent yet"]);
  mark(holder, "", "");
  assert.deepEqual([holder.dataset.mark, words.textContent], [undefined, ""]);
});
