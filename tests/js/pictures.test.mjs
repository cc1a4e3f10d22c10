// Sending pictures: each file has its own answer, and none stops the others.
import assert from "node:assert/strict";
import test from "node:test";

import { sendAll, sendFile, verdict } from "../../static/js/pictures/sending.js";

test("the answer of the server is the verdict about the file", () => {
  const text = JSON.stringify({ files: [{ name: "a.jpg", kept: false, words: "The file is empty." }] });
  assert.deepEqual(verdict(200, text), { kept: false, words: "The file is empty." });
});

test("a file of several pages or frames says how many, so that one can be chosen", () => {
  const text = JSON.stringify({ files: [{ name: "a.dcm", kept: false, words: "Say which, 1 to 3.", frames: 3 }] });
  assert.deepEqual(verdict(200, text), { kept: false, words: "Say which, 1 to 3.", frames: 3 });
});

test("the chosen frame goes with its file, and none where none was chosen", async () => {
  globalThis.FormData = class extends Map {
    append(name, value) {
      this.set(name, value);
    }
  };
  for (const frame of ["", "2"]) {
    let sent = null;
    class Request extends EventTarget {
      upload = new EventTarget();
      status = 200;
      responseText = JSON.stringify({ files: [{ name: "a", kept: true, words: "" }] });
      open() {}
      setRequestHeader() {}
      send(body) {
        sent = body;
        this.dispatchEvent(new Event("load"));
      }
    }
    const told = await sendFile("/add/", { name: "a" }, frame, "token", () => {}, Request);
    assert.equal(told.kept, true);
    assert.equal(sent.get("frame"), frame || undefined);
  }
});

test("an answer that is none is told in words and never taken for kept", () => {
  for (const [status, text, word] of [
    [0, "", "connection"],
    [401, "", "signed out"],
    [413, "", "too large"],
    [500, "<html>", "500"],
    [200, "<html>", "200"],
    [200, '{"files": []}', "200"],
  ]) {
    const { kept, words } = verdict(status, text);
    assert.equal(kept, false);
    assert.match(words, new RegExp(word));
  }
});

test("all files are sent, at most two at a time", async () => {
  let now = 0;
  let most = 0;
  const sent = [];
  await sendAll([1, 2, 3, 4, 5], async (file) => {
    now += 1;
    most = Math.max(most, now);
    await new Promise((resolve) => setTimeout(resolve, 2));
    now -= 1;
    sent.push(file);
  });
  assert.deepEqual(sent.sort(), [1, 2, 3, 4, 5]);
  assert.equal(most, 2);
});
