// What the page of a walk and that of all looms have in common.
export const at = (id) => document.getElementById(id);

// What this device keeps; where it may keep nothing, it holds for this visit only.
export const kept = {
  get: (name) => { try { return localStorage.getItem(name); } catch { return null; } },
  set: (name, value) => { try { localStorage.setItem(name, value); } catch { /* see above */ } },
};

export function log(line, most) {
  const entry = document.createElement("p");
  entry.textContent = line.text;
  at("log").append(entry);
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

at("look").value = kept.get("look") || "";
at("look").addEventListener("change", () => {
  kept.set("look", at("look").value);
  dispatchEvent(new Event("look"));
});
