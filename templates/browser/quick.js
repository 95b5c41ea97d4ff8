// Everything works without this. With it a form that stays on its page is sent beside, and what is typed is judged while one types.
"use strict";

const read = text => new DOMParser().parseFromString(text, "text/html");

function body(form, submitter) {
  const told = new FormData(form);
  if (submitter && submitter.name) told.append(submitter.name, submitter.value);
  return new URLSearchParams(told);
}

// A change to a question: the page comes back whole, and takes the place of what is shown; the focus stays where it was.
document.addEventListener("submit", async event => {
  const form = event.target;
  if (!form.matches("[data-stay]") || event.defaultPrevented) return;
  event.preventDefault();
  const pressed = event.submitter;
  const main = document.getElementById("main");
  main.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(form.action, { method: "POST", body: body(form, pressed) });
    const fresh = read(await answer.text());
    const now = fresh.getElementById("main");
    if (!now || new URL(answer.url).pathname !== location.pathname && answer.ok) { location.assign(answer.url); return; }
    document.title = fresh.title;
    main.replaceWith(now);
    if (answer.ok) history.replaceState(null, "", answer.url);
    const again = pressed && pressed.id && document.getElementById(pressed.id);
    const wrong = now.querySelector(".wrong");
    if (wrong) { wrong.tabIndex = -1; wrong.focus(); wrong.scrollIntoView({ block: "center" }); }
    else if (again && !again.disabled) again.focus({ preventScroll: !moved(pressed) });
    else now.focus();
  } catch {
    form.submit();
  }
});

const moved = pressed => ["up", "down"].includes(pressed.value);

// What is typed: sent after a short rest, and every piece of the answer that has an id takes its place.
// Each row of a grid waits for itself: whoever goes on to the next one leaves nothing behind that was not told.
const waiting = new Map(), latest = new Map();
const which = field => `${field.form.dataset.tell} ${field.dataset.row ?? ""}`;

document.addEventListener("input", event => {
  const form = event.target.form;
  if (!form || !form.dataset.tell) return;
  clearTimeout(waiting.get(which(event.target)));
  waiting.set(which(event.target), setTimeout(() => tell(form, event.target), 250));
});

// A field that is left is told at once, though the page may be left with it.
document.addEventListener("change", event => {
  const form = event.target.form;
  if (form && form.dataset.tell && waiting.has(which(event.target))) tell(form, event.target);
});

async function tell(form, typed) {
  const key = which(typed), turn = (latest.get(key) ?? 0) + 1;
  clearTimeout(waiting.get(key));
  waiting.delete(key);
  latest.set(key, turn);
  const told = body(form), row = typed.dataset.row;
  if (row) {  // of a grid its row is enough
    for (const field of form.elements) if (field.dataset.row && field.dataset.row !== row) told.delete(field.name);
    told.append("row", row);
  }
  try {
    const answer = await fetch(form.dataset.tell, { method: "POST", body: told, keepalive: true });
    const fresh = read(await answer.text());
    if (turn !== latest.get(key) || !answer.ok) return;
    for (const piece of [...fresh.body.children].filter(one => one.id)) {
      const there = document.getElementById(piece.id);
      if (there && !there.contains(document.activeElement)) there.replaceWith(piece);
    }
  } catch { /* it is judged when the form is sent */ }
}

// What was typed before this was read is told now.
for (const form of document.querySelectorAll("form[data-tell]")) {
  const typed = [...form.elements].find(field => field.name && field.type !== "hidden" && field.value !== field.defaultValue && "defaultValue" in field);
  if (typed) tell(form, typed);
}

// Files may be dropped anywhere on a form that takes one.
for (const name of ["dragover", "drop"]) document.addEventListener(name, event => {
  const field = event.target.closest && event.target.closest("form")?.querySelector("input[type=file]");
  if (!field || !event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  if (name === "drop") field.files = event.dataTransfer.files;
});
