// The wall: draws what the last event says, tells when none come, and sends what is touched.
"use strict";

const byId = (id) => document.getElementById(id);
const sheet = byId("sheet"), text = byId("text");
const QUIET_MS = 2500, TOLD_MS = 8000;
const NUMBER = /^(\D*)(\d+(?:\.\d+)?)(\D*)$/;
let shown = { seq: 0 }, last = 0, job = null, answered = 0;

const made = (name, words, more = {}) => Object.assign(document.createElement(name), { textContent: words, ...more });
const named = (node, word, words) => { node.append(made("span", word, { className: "word" }), words); return node; };
const item = (content, kind) => { const li = made("li", "", { className: kind }); li.append(content); return li; };

// ---- as large as the room allows
function fit(line) {
  const inner = line.firstElementChild ?? line;
  const high = Math.floor(line.clientHeight * 0.98);
  line.style.fontSize = `${high}px`;
  const wide = inner === line ? line.scrollWidth : inner.scrollWidth;
  if (wide > line.clientWidth) line.style.fontSize = `${Math.floor((high * line.clientWidth * 0.98) / wide)}px`;
}
function fitAll() {
  const lines = document.querySelectorAll(".big");
  lines.forEach((line) => { line.style.fontSize = "1px"; });
  lines.forEach(fit);
}
addEventListener("resize", fitAll);

// ---- what is drawn
function head(state, deaf) {
  byId("state").textContent = state;
  document.body.classList.toggle("deaf", deaf);
}
function draw(now) {
  shown = now;
  head(now.state, !now.heard);
  byId("count").textContent = `${now.animals} ${now.animals === 1 ? "animal" : "animals"}`;
  byId("tag").textContent = now.tag;
  byId("tag").disabled = now.exam === null;
  byId("status").textContent = now.status;
  byId("detail").textContent = now.detail;
  byId("became").textContent = now.saying ? "HEARING" : now.words && now.became;
  byId("words").textContent = now.saying ? `${now.saying} …` : now.words;
  document.body.classList.toggle("saying", Boolean(now.saying));
  byId("stops").replaceChildren(...now.stops.map((why) => named(made("li", ""), "STOP", why)));
  byId("marks").replaceChildren(...now.marks.map((mark) => made("li", mark.station, { className: mark.said ? "said" : "", ariaLabel: `${mark.station}: ${mark.said ? "done" : "not yet"}` })));
  byId("standing").replaceChildren(...now.standing.map((each) => item(made("button", each.words, { type: "button", onclick: () => change(each) }), each.asked ? "asked" : "")));
  if (now.told !== draw.told) tell(draw.told = now.told, true);
  ask(now.question);
  fitAll();
}
function ask(question) {
  byId("question").hidden = !question;
  if (!question) return byId("answers").replaceChildren();
  byId("asked").textContent = "";
  named(byId("asked"), "ASKED", question.words);
  if (shown.more) byId("asked").append(` (and ${shown.more} more)`);
  const answer = (words, number, kind = "") => {
    const button = made("button", "", { type: "button", className: kind, onclick: () => act({ action: number ? "answer" : question.answers.length ? "none" : "keep", query: question.id, text: number }) });
    button.append(made("kbd", number), words.replace(/(\d) (?=\S+$)/, "$1\u00a0"));
    return button;
  };
  const offered = question.answers.map((words, place) => answer(words, place + 1));
  byId("answers").replaceChildren(...offered, answer(question.answers.length ? "none of them" : "it is right as it is", 0, "none"));
}
function tell(words, stays = false) {
  byId("told").textContent = words;
  clearTimeout(tell.timer);
  if (!stays) tell.timer = setTimeout(() => { byId("told").textContent = draw.told ?? ""; }, TOLD_MS);
}

// ---- news, and none
function follow() {
  const news = new EventSource("/events");
  news.onmessage = (event) => { last = performance.now(); draw(JSON.parse(event.data)); };
  news.addEventListener("beat", () => { if (!last) head(shown.state ?? "", !shown.heard); last = performance.now(); });
  news.onerror = () => gone(news.readyState === EventSource.CLOSED);
}
function gone(forgotten = false) {
  if (shown.state === "listening has ended") return;
  last = 0;
  head(forgotten ? "not known here any more: open the new address" : "no connection: nothing new is shown", true);
}
setInterval(() => { if (last && performance.now() - last > QUIET_MS) gone(); }, 250);

// ---- what is touched
async function act(fields) {
  const form = new URLSearchParams({ ...fields, csrf: document.body.dataset.csrf, based_on: shown.seq });
  const turn = ++answered;
  tell("…");
  const answer = await fetch("/act", { method: "POST", body: form }).catch(() => null);
  const said = await answer?.json().catch(() => null);
  if (turn === answered) tell(said?.told ?? said?.asks ?? "That did not arrive: touch it again.");
}
function open(label, words, then) {
  job = then;
  byId("label").textContent = label;
  put("", words, "");
  byId("withdraw").hidden = byId("whole").hidden = true;
  sheet.returnValue = "";
  sheet.showModal();
  text.select();
}
function put(before, value, behind) {
  [byId("before").textContent, text.value, byId("behind").textContent] = [before, value, behind];
  text.inputMode = before || behind ? "decimal" : "text";
  text.parentElement.classList.toggle("number", Boolean(before || behind));
}
function change(finding) {
  const parts = NUMBER.exec(finding.words);
  open("What is right", finding.words, { action: "value", finding: finding.number });
  byId("withdraw").hidden = false;
  byId("whole").hidden = !parts;
  byId("whole").onclick = () => { put("", finding.words, ""); byId("whole").hidden = true; text.focus(); };
  if (parts) put(...parts.slice(1));
  text.select();
}
byId("tag").addEventListener("click", () => {
  open("Her tag", "", { action: "tag", exam: shown.exam });
  text.inputMode = "numeric";
});
sheet.addEventListener("close", () => {
  if (sheet.returnValue === "save") act({ ...job, text: text.value });
  if (sheet.returnValue === "withdraw") act({ ...job, action: "withdraw" });
});

// ---- a screen that goes dark shows nothing
const awake = () => document.hidden || navigator.wakeLock?.request("screen").catch(() => null);
document.addEventListener("visibilitychange", awake);
awake();
follow();
