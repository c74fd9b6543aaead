// Asks the desk's own server, and hears of what it tells unasked. The page's address holds the word that lets it in.
combe.desk = { token: new URLSearchParams(location.search).get("token") ?? "", state: null, selected: null };

combe.Fault = class extends Error {
  constructor(message, status) { super(message); this.status = status; }
};

const NO_ANSWER = tell("The desk does not answer. Does its command still run?");

// One question; a refusal is a Fault with the server's own line.
combe.ask = async (path, { body, signal } = {}) => {
  const headers = { "X-Combe-Token": combe.desk.token };
  const options = { signal, headers, cache: "no-store" };
  if (body !== undefined) {
    headers["Content-Type"] = "application/json";
    Object.assign(options, { method: "POST", body: JSON.stringify(body) });
  }
  let answer;
  try {
    answer = await fetch(path, options);
  } catch (problem) {
    throw problem.name === "AbortError" ? problem : new combe.Fault(NO_ANSWER, 0);
  }
  if (answer.ok) return answer;
  const text = await answer.text();
  let told = { fault: text };
  try { told = JSON.parse(text); } catch { /* a refusal may be a plain line */ }
  throw new combe.Fault(told.fault || tell("The desk refused this ({status}).", { status: answer.status }), answer.status);
};

combe.askJson = async (path, options) => (await combe.ask(path, options)).json();

// Whether an answer is missing only because a newer question took its place.
combe.isOutdated = (problem) => problem.name === "AbortError" || problem.status === 409;

// Runs the newest work alone: older work is aborted, and what it still brings is given up.
combe.newest = () => {
  let control = null;
  return async (work) => {
    control?.abort();
    const mine = (control = new AbortController());
    const found = await work(mine.signal);
    if (mine.signal.aborted) throw new DOMException("a newer question came", "AbortError");
    return found;
  };
};

// Runs work for one thing at a time; of those that come meanwhile only the newest waits.
combe.latest = (work) => {
  let waiting = null, busy = false;
  const next = async () => {
    if (busy || !waiting) return;
    const { given } = waiting;
    waiting = null;
    busy = true;
    try { await work(given); } catch (problem) { if (!combe.isOutdated(problem)) combe.tell(problem); }
    busy = false;
    next();
  };
  return { put(given) { waiting = { given }; next(); }, drop() { waiting = null; } };
};

// What the server tells unasked, by name of the event; an EventSource could not send the word that lets us in.
combe.heard = {};
combe.listen = async () => {
  try { await combe.hearAll("/api/events"); } catch { /* the next question says so, if the desk is gone */ }
  addEventListener("focus", combe.listen, { once: true });
};

// Hear a stream to its end.
combe.hearAll = async (path) => {
  const answer = await combe.ask(path);
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = ""; ;) {
    const { value, done } = await reader.read();
    if (done) break;
    const blocks = (text + value).replace(/\r\n/g, "\n").split("\n\n");
    text = blocks.pop();
    blocks.forEach(combe.hear);
  }
};

combe.hear = (block) => {
  const lines = block.split("\n");
  const part = (name) => lines.filter((line) => line.startsWith(name + ":")).map((line) => line.slice(name.length + 1).trim()).join("\n");
  const data = part("data");
  if (data) combe.heard[part("event")]?.(JSON.parse(data));
};

// Say something in the line that is also spoken.
combe.say = (words) => { byId("desk-said").textContent = words; };
combe.tell = (problem) => { if (!combe.isOutdated(problem)) combe.say(problem.message); };
