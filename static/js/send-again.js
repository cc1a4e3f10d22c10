/**
 * One queue for everything a page saves at once: it sends in order, marks what waits, and sends again.
 *
 * A job is sent with a request key that never changes once it has left, so an answer lost on the way
 * makes no second change. What was typed stays in memory; nothing is put into browser storage.
 *
 * Job: { name, address, build(), saved(data), changed(data), refused(data), failed(status, data), waiting(), replaced() }.
 * `name` says which field it is for: a job that has not left yet is replaced by a newer one of the same name
 * and told so.
 * `build()` gives the body as a plain object and is called at the last moment, so it sees the newest state.
 *
 * States: idle; sending; offline (no connection or no answer); busy (the server asks to wait);
 * signed-out (401, waits for `again()`).
 */
const PAUSES = [1000, 2000, 4000, 8000, 15000, 30000];
const LONGEST_ANSWER = 20000;
const BUSY = new Set([429, 502, 503, 504]);

/** The CSRF token as the cookie has it now, or an empty text; the page says what its cookie is called. */
export function tokenIn(cookies, name = document.querySelector('meta[name="csrf-cookie"]').content) {
  for (const part of cookies.split(";")) {
    const at = part.indexOf("=");
    if (at > 0 && part.slice(0, at).trim() === name) return decodeURIComponent(part.slice(at + 1).trim());
  }
  return "";
}

/** A request key: 32 random hexadecimal digits. */
export function randomKey(source = globalThis.crypto) {
  return Array.from(source.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
}

/** Put one of the marks (saved, waiting, refused, changed, trying or none) and its words beside a field. */
export function mark(holder, state, words = "") {
  if (state) holder.dataset.mark = state;
  else delete holder.dataset.mark;
  const place = holder.querySelector("[data-mark-words]");
  if (place && place.textContent !== words) place.textContent = words;
}

export class SendAgain {
  #jobs = [];
  #timer = null;
  #tries = 0;
  #tokenTried = "";
  #running = false;

  constructor({
    request = (...a) => globalThis.fetch(...a),
    token = () => tokenIn(document.cookie),
    newKey = randomKey,
    later = (f, ms) => setTimeout(f, ms),
    never = (t) => clearTimeout(t),
    told = () => {},
  } = {}) {
    Object.assign(this, { request, token, newKey, later, never, told });
    this.state = "idle";
  }

  /** How many jobs have no answer yet. */
  get size() {
    return this.#jobs.length;
  }

  put(job) {
    const same = this.#jobs.findIndex((j) => j.name === job.name && !j.body);
    if (same >= 0) {
      this.#jobs[same].replaced?.();
      this.#jobs[same] = { ...job };
    } else this.#jobs.push({ ...job });
    if (this.state === "idle") return this.#run();
    if (this.state !== "sending") job.waiting?.(this.state);
    this.told(this.state, this.size);
    return Promise.resolve();
  }

  /** Try now: the connection is back, somebody signed in, or the button was pressed. */
  again() {
    if (!this.size || this.#running) return Promise.resolve();
    this.#stopTimer();
    this.#tokenTried = "";
    return this.#run();
  }

  async #run() {
    if (this.#running) return;
    this.#running = true;
    try {
      while (this.#jobs.length) {
        this.#say("sending");
        if (!(await this.#send(this.#jobs[0]))) return;
      }
      this.#say("idle");
    } finally {
      this.#running = false;
    }
  }

  /** Send one job; true when it is done with and the next one may go. */
  async #send(job) {
    job.body ??= { ...job.build(), request_key: this.newKey() };
    const token = this.token();
    let answer;
    let data;
    try {
      answer = await this.request(job.address, {
        method: "POST",
        headers: {
          "Content-Type": "application/json",
          Accept: "application/json",
          "X-CSRFToken": token,
          "X-Requested-With": "fetch",
        },
        body: JSON.stringify(job.body),
        credentials: "same-origin",
        redirect: "manual",
        signal: AbortSignal.timeout(LONGEST_ANSWER),
      });
      data = await this.#read(answer);
    } catch {
      return this.#wait("offline");
    }
    if (BUSY.has(answer.status)) return this.#wait("busy");
    if (answer.status === 403 && data === null) return this.#tokenRefused(job, token);
    if (answer.status === 401 || answer.type === "opaqueredirect" || (answer.ok && data === null)) {
      return this.#signedOut();
    }
    this.#tries = 0;
    this.#tokenTried = "";
    this.#jobs.shift();
    if (answer.ok) job.saved?.(data);
    else if (answer.status === 409) job.changed?.(data);
    else if (answer.status === 422) job.refused?.(data);
    else job.failed?.(answer.status, data);
    return true;
  }

  async #read(answer) {
    const kind = answer.headers.get("Content-Type") ?? "";
    return kind.includes("json") ? await answer.json() : null;
  }

  /** The cookie may have changed while the request was under way: read it anew once, then ask to sign in. */
  #tokenRefused(job, token) {
    if (!this.#tokenTried && this.token() !== token) {
      this.#tokenTried = token;
      return this.#send(job);
    }
    return this.#signedOut();
  }

  #signedOut() {
    this.#say("signed-out");
    for (const job of this.#jobs) job.waiting?.("signed-out");
    return false;
  }

  #wait(state) {
    this.#stopTimer();
    this.#timer = this.later(() => this.again(), PAUSES[Math.min(this.#tries, PAUSES.length - 1)]);
    this.#tries += 1;
    this.#say(state);
    for (const job of this.#jobs) job.waiting?.(state);
    return false;
  }

  #stopTimer() {
    if (this.#timer !== null) this.never(this.#timer);
    this.#timer = null;
  }

  #say(state) {
    this.state = state;
    this.told(state, this.size);
  }
}

const WORDS = {
  offline: (n) => `No connection. ${count(n, "waits", "wait")} here and will be sent again without you.`,
  busy: (n) => `The server is busy. ${count(n, "waits", "wait")} here and will be sent again without you.`,
  "signed-out": (n) => `You are signed out. ${count(n, "is", "are")} kept here until you have signed in.`,
};

function count(n, one, more) {
  return n === 1 ? `1 entry ${one}` : `${n} entries ${more}`;
}

/**
 * Tie a queue to a page: a bar that says what waits, "send now", a sign-in link in a new tab, and the
 * browser's own signs that it is worth trying again. The bar holds [data-bar-words], [data-bar-sign-in]
 * and [data-bar-again].
 */
export function tieToPage(queue, bar, page = globalThis) {
  const words = bar.querySelector("[data-bar-words]");
  const signIn = bar.querySelector("[data-bar-sign-in]");
  queue.told = (state, size) => {
    if (state === "sending") return;
    bar.hidden = !(state in WORDS);
    signIn.hidden = state !== "signed-out";
    words.textContent = state in WORDS ? WORDS[state](size) : "";
  };
  bar.querySelector("[data-bar-again]").addEventListener("click", () => queue.again());
  page.addEventListener("online", () => queue.again());
  page.addEventListener("focus", () => queue.again());
  page.document.addEventListener("visibilitychange", () => {
    if (!page.document.hidden) queue.again();
  });
  page.addEventListener("beforeunload", (event) => {
    if (queue.size) event.preventDefault();
  });
  return queue;
}
