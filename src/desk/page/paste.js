// What is copied, to be pasted elsewhere.

/** Copies a text and says so; `instead` is said where the browser does not let it. */
export async function copy(text, say, done, instead) {
  try {
    await navigator.clipboard.writeText(text);
    say(done, true);
  } catch {
    say(`The browser lets nothing be copied. ${instead}`, true);
  }
}
