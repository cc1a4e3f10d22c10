/**
 * Sends files one by one, two at a time, each with its own progress and its own answer:
 * one that is refused or fails never stops the others.
 */
const AT_ONCE = 2;

/** Words for an answer that is not the server's verdict about the picture. */
export function wordsFor(status) {
  if (status === 0) return "No connection. Choose the file again when it is back.";
  if (status === 401) return "You are signed out. Sign in on another page, then choose the file again.";
  if (status === 413) return "The file is too large.";
  return `The server could not take it (${status}). Choose the file again.`;
}

/** What became of one file, from the request's status and text: { kept, words }, and `frames` where one is to be chosen. */
export function verdict(status, text) {
  if (status !== 200) return { kept: false, words: wordsFor(status) };
  try {
    const [told] = JSON.parse(text).files;
    return { kept: told.kept, words: told.words, ...(told.frames ? { frames: told.frames } : {}) };
  } catch {
    return { kept: false, words: wordsFor(status) };
  }
}

/**
 * Send one file, of several pages or frames with the number of one; `progress(share)` is called with 0 to 1.
 * Resolves to what `verdict` says, never rejects.
 */
export function sendFile(address, file, frame, token, progress, Request = globalThis.XMLHttpRequest) {
  return new Promise((resolve) => {
    const request = new Request();
    const done = () => resolve(verdict(request.status, request.responseText));
    request.open("POST", address);
    request.setRequestHeader("X-Requested-With", "fetch");
    request.setRequestHeader("X-CSRFToken", token);
    request.upload.addEventListener("progress", (event) => event.total && progress(event.loaded / event.total));
    for (const name of ["load", "error", "abort"]) request.addEventListener(name, done);
    const body = new FormData();
    body.append("pictures", file, file.name);
    if (frame) body.append("frame", frame);
    request.send(body);
  });
}

/** Run `send(file)` over all files, at most two at a time. */
export async function sendAll(files, send) {
  const waiting = [...files];
  const worker = async () => {
    while (waiting.length) await send(waiting.shift());
  };
  await Promise.all(Array.from({ length: Math.min(AT_ONCE, waiting.length) }, worker));
}
