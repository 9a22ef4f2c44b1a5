// What the page of a walk and that of all looms have in common.
export const at = (id) => document.getElementById(id);

// What this device keeps; where it may keep nothing, it holds for this visit only.
export const kept = {
  get: (name) => { try { return localStorage.getItem(name); } catch { return null; } },
  set: (name, value) => { try { localStorage.setItem(name, value); } catch { /* see above */ } },
};

// A choice that this device keeps, the usual one where it has made none.
export function chosen(name, usual, act) {
  at(name).value = kept.get(name) || usual;
  if (at(name).selectedIndex < 0) at(name).value = usual;
  at(name).addEventListener("change", () => { kept.set(name, at(name).value); act(); });
}

// A box to tick, likewise, shown where what it stands for can be had.
export function ticked(name, isKnown, usual, act) {
  at(name).closest("p").hidden = !isKnown;
  at(name).checked = isKnown && (kept.get(name) || usual) === "yes";
  at(name).addEventListener("change", () => { kept.set(name, at(name).checked ? "yes" : "no"); act(); });
}

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

export function span(text, kind = "") {
  return Object.assign(document.createElement("span"), { className: kind, textContent: text });
}

export function log(line, most) {
  at("log").append(Object.assign(document.createElement("p"), { textContent: line.text }));
  while (at("log").childElementCount > most) at("log").firstElementChild.remove();
}

export function linked(state, text) {
  at("link").dataset.state = state;
  at("link").textContent = text;
}

// Opens a line of the page's own: `owner` takes what comes over its newest one, and learns of its end.
export function connect(owner, name, hello) {
  const scheme = location.protocol === "https:" ? "wss" : "ws";
  const socket = new WebSocket(`${scheme}://${location.host}${location.pathname}${name}`);
  owner.socket = socket;
  socket.onopen = () => socket.send(JSON.stringify(hello()));
  socket.onmessage = (message) => { if (socket === owner.socket) owner.take(JSON.parse(message.data)); };
  socket.onclose = (closed) => { if (socket === owner.socket) owner.lose(closed.code); };
}

chosen("look", "", () => dispatchEvent(new Event("look")));
