// The stream from the desk, and wishes to it.

const key = document.querySelector('meta[name="desk-key"]').content;
/** A page nobody looks at gives its place in the stream back after this. */
const UNSEEN_MS = 60_000;
const AGAIN_MS = 2_000;

/** Words of the terminal, as a page says them. */
export const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1) + (/[.!?]$/.test(words) ? "" : ".");

/** What is said of trouble, in one line. */
export const inWords = ({ message, hint }) => [message, hint].filter(Boolean).map(sentence).join(" ");

/** Sends a wish. Resolves to what came of it; rejects with {message, hint} in words. */
export async function wish(path, body) {
  let answer;
  try {
    answer = await fetch(path, { method: "POST", headers: { "content-type": "application/json", "x-desk-key": key }, body: JSON.stringify(body) });
  } catch {
    throw { message: "The desk does not answer. Is it still running in its terminal?" };
  }
  const text = await answer.text();
  if (!answer.ok) throw { message: text.trim() };
  const told = JSON.parse(text);
  if (told.refused) throw told.refused;
  return told;
}

export class Live {
  #source;
  #view = {};
  #told;
  #again;
  #unseen;
  #session;

  /** `told` has a function for every event, and `connected(here)`. */
  constructor(told) {
    this.#told = told;
    document.addEventListener("visibilitychange", () => {
      clearTimeout(this.#unseen);
      if (!document.hidden && this.#source === undefined) this.#open();
      if (document.hidden) this.#unseen = setTimeout(() => this.#close(), UNSEEN_MS);
    });
  }

  /** Looks at another strip. */
  look(view) {
    this.#view = view;
    this.#open();
  }

  #close() {
    clearTimeout(this.#again);
    this.#source?.close();
    this.#source = undefined;
  }

  #open() {
    this.#close();
    const query = new URLSearchParams(Object.entries(this.#view).filter(([, value]) => value));
    const source = new EventSource(`/live?${query}`);
    this.#source = source;
    source.addEventListener("hello", (event) => {
      const hello = JSON.parse(event.data);
      // A desk started anew has a new key: the page is fetched again.
      if (this.#session !== undefined && this.#session !== hello.session) return location.reload();
      this.#session = hello.session;
      this.#told.connected(true);
      this.#told.hello(hello);
    });
    for (const name of ["strip", "facts", "findings", "boxes", "trouble", "press"]) {
      source.addEventListener(name, (event) => {
        // A slip is missing: begin anew, and everything comes.
        if (this.#source === source && this.#told[name](JSON.parse(event.data)) === false) this.#open();
      });
    }
    source.addEventListener("error", () => {
      if (this.#source !== source) return;
      this.#told.connected(false);
      clearTimeout(this.#again);
      this.#again = setTimeout(() => this.#open(), AGAIN_MS);
    });
  }
}
