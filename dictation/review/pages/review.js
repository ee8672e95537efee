// The page of the spoken log: keys and clicks become corrections; news of the visit replaces sheets.
"use strict";

const byId = (id) => document.getElementById(id);
const log = byId("log"), player = byId("player"), editor = byId("editor"), text = byId("text");
const offered = byId("offered"), filter = byId("filter"), help = byId("help"), who = byId("who");
const state = { seq: Number(document.body.dataset.seq), current: null, job: null, picked: -1 };

const tell = (words, bad = false) => {
  byId("told").textContent = words;
  byId("told").classList.toggle("bad", bad);
};

// Sound that is missing or damaged is named by whoever sends it.
player.addEventListener("error", async () => {
  const answer = player.src && (await fetch(player.src));
  if (answer && !answer.ok) tell(await answer.text(), true);
});

// ---- what the visit has become
let turn = Promise.resolve();
const refresh = () => (turn = turn.then(load));
async function load() {
  const answer = await fetch(`/changes?since=${state.seq}`);
  if (!answer.ok) return;
  const news = await answer.json();
  const here = editor.hidden ? null : editor.closest("[data-exam]");
  byId("head").innerHTML = news.head;
  byId("index").innerHTML = news.index;
  for (const [number, html] of Object.entries(news.exams)) {
    const old = byId(`exam-${number}`);
    if (old && old === here) {
      tell("This animal has just changed: what you type is compared when you save it.");
      state.stale = true;
      continue;
    }
    const open = old && old.querySelector("details")?.open;
    const holder = document.createElement("template");
    holder.innerHTML = html;
    const fresh = holder.content.firstElementChild;
    if (open) fresh.querySelector("details").open = true;
    if (old) old.replaceWith(fresh);
    else log.append(fresh);
  }
  const wanted = news.order.map((number) => byId(`exam-${number}`)).filter(Boolean);
  for (const sheet of [...log.querySelectorAll(".exam")]) if (!wanted.includes(sheet)) sheet.remove();
  wanted.forEach((sheet, place) => {
    if (log.querySelectorAll(":scope > .exam")[place] !== sheet)
      log.insertBefore(sheet, log.querySelectorAll(":scope > .exam")[place]);
  });
  if (!state.stale) state.seq = news.seq;
  show();
  mark(state.current);
  if (byId("newest").checked && editor.hidden) newest();
}
function newest() {
  const said = [...log.querySelectorAll(".phrase[data-at]:not(.out)")];
  said.at(-1)?.scrollIntoView({ block: "end" });
}

function follow() {
  const news = new EventSource("/events");
  news.onmessage = (event) => {
    if (Number(event.data) > state.seq && !state.stale) refresh();
  };
  news.onerror = () => tell("The line to this visit is broken; it is tried again.", true);
}

// ---- corrections
async function act(fields) {
  const form = new URLSearchParams(fields);
  form.set("csrf", document.body.dataset.csrf);
  form.set("based_on", state.seq);
  form.set("who", who.value);
  if (!who.value.trim()) {
    tell("Say who you are first.", true);
    who.focus();
    return false;
  }
  const answer = await fetch("/act", { method: "POST", body: form });
  const told = (await answer.json().catch(() => null))?.told ?? "It was refused: load the page again.";
  const job = state.job, again = text.value;
  if (answer.ok || answer.status === 409) {
    state.stale = true;
    await closeEditor();
  }
  if (answer.status === 409 && job) reopen(job, again);
  tell(told, !answer.ok);
  return answer.ok;
}

// Somebody else was first: what was typed stays, beside what it has become meanwhile.
function reopen(job, again) {
  const phrase = byId(`phrase-${job.phrase}`) ?? byId(`exam-${job.exam}`)?.querySelector("header");
  if (!phrase) return;
  openEditor(job.action, phrase);
  text.value = again;
  typed();
}

const examOf = (node) => node.closest(".exam");
const ABOUT = { exam: ".exam", phrase: ".phrase", query: "[data-query]", finding: "[data-finding]", entry: "[data-entry]" };
const where = (node) => Object.fromEntries(
  Object.entries(ABOUT).map(([name, at]) => [name, node.closest(at)?.dataset[name] ?? ""]));

const approveVisit = () => act({ action: "approve", text: "visit" });

const TYPED = {
  phrase: ["What was said", "read"],
  insert: ["Phrase that was missed", "read"],
  move: ["Tag of the animal it belongs to"],
  merge: ["Tag of the animal it is the same as"],
  tag: ["Tag"],
  add: ["Tag of the missed animal"],
};

function perform(action, node) {
  if (action === "play") return play(node.closest(".phrase"));
  if (TYPED[action]) return openEditor(action, node);
  return act({ action, ...where(node), text: node.dataset.text ?? "" });
}

// ---- typing
function openEditor(action, node) {
  const phrase = node.closest(".phrase"), sheet = examOf(node);
  state.job = { action, ...where(node) };
  state.back = phrase ?? node;
  if (phrase) phrase.append(editor);
  else sheet.querySelector(":scope > header").after(editor);
  byId("editor-label").textContent = TYPED[action][0];
  text.value = action === "phrase" && !phrase.classList.contains("refused") ? phrase.querySelector(".text").firstChild.textContent.trim() : "";
  byId("why").value = "";
  byId("reads").textContent = "";
  editor.hidden = false;
  text.focus({ preventScroll: true });
  text.select();
  editor.scrollIntoView({ block: "center" });
  if (text.value) read();
}

async function closeEditor() {
  const back = editor.hidden ? null : state.back;
  editor.hidden = true;
  offer([]);
  document.body.append(editor);
  state.job = null;
  if (state.stale) {
    state.stale = false;
    await refresh();
  }
  const there = back && (byId(back.id) ?? back);
  if (there?.isConnected) there.focus({ preventScroll: true });
}

function offer(words) {
  state.picked = -1;
  offered.replaceChildren(...words.map((word, place) => {
    const item = document.createElement("li");
    item.id = `offer-${place}`;
    item.role = "option";
    item.ariaSelected = "false";
    item.textContent = word;
    item.addEventListener("mousedown", (event) => { event.preventDefault(); take(word); });
    return item;
  }));
  offered.hidden = !words.length;
  text.ariaExpanded = String(words.length > 0);
  text.removeAttribute("aria-activedescendant");
}

function pick(step) {
  const items = [...offered.children];
  if (!items.length) return;
  state.picked = (state.picked + step + items.length) % items.length;
  items.forEach((item, place) => { item.ariaSelected = String(place === state.picked); });
  text.setAttribute("aria-activedescendant", items[state.picked].id);
}

function take(word) {
  text.value = text.value.replace(/\S*$/, "") + word + " ";
  typed();
}

let asked = 0;
async function typed() {
  const turn = ++asked;
  if (TYPED[state.job?.action]?.[1] !== "read") return;
  const answer = await fetch(`/completions?prefix=${encodeURIComponent(text.value)}`);
  if (turn === asked && answer.ok && !editor.hidden) offer(await answer.json());
  if (turn === asked) read();
}

async function read() {
  const turn = asked;
  if (TYPED[state.job?.action]?.[1] !== "read" || !text.value.trim()) return;
  const answer = await fetch(`/reading?text=${encodeURIComponent(text.value)}`);
  if (turn !== asked || !answer.ok) return;
  const reading = await answer.json();
  byId("reads").textContent = reading.read ? `Reads: ${reading.words}` : reading.words;
}

text.addEventListener("input", typed);
text.addEventListener("blur", () => offer([]));
text.addEventListener("keydown", (event) => {
  if (event.key === "ArrowDown") pick(1);
  else if (event.key === "ArrowUp") pick(-1);
  else if (event.key === "Tab" && !offered.hidden && !event.shiftKey) take(offered.children[Math.max(0, state.picked)].textContent);
  else if (event.key === "Enter" && state.picked >= 0) take(offered.children[state.picked].textContent);
  else if (event.key === "Escape" && !offered.hidden) offer([]);
  else return;
  event.preventDefault();
  event.stopPropagation();
});
editor.addEventListener("submit", (event) => {
  event.preventDefault();
  act({ ...state.job, text: text.value, why: byId("why").value });
});
byId("editor-close").addEventListener("click", closeEditor);

// ---- sound
function play(phrase) {
  const button = phrase?.querySelector("[data-do=play]");
  if (!button) return tell("There is no sound of this: it was typed.");
  const playing = button.classList.contains("playing");
  stop();
  if (playing) return;
  mark(phrase);
  player.src = `/sound/${phrase.dataset.phrase}.flac`;
  button.classList.add("playing");
  player.play().then(
    () => tell(`Plays ${phrase.querySelector(".when").textContent.trim()}.`),
    () => { stop(); tell("The sound cannot be played here.", true); },
  );
}
function stop() {
  player.pause();
  document.querySelectorAll(".playing").forEach((button) => button.classList.remove("playing"));
}
player.addEventListener("ended", () => { stop(); player.dataset.ended = player.src; });

// ---- moving about
function mark(phrase) {
  log.querySelectorAll(".current").forEach((each) => each.classList.remove("current"));
  const fresh = phrase && byId(phrase.id);
  state.current = fresh ?? null;
  fresh?.classList.add("current");
}
function go(step, want = ".phrase:not(.out)") {
  const all = [...log.querySelectorAll(want)].filter((each) => !each.closest(".exam.out"));
  if (!all.length) return tell("Nothing more of that kind.");
  let next = step > 0 ? 0 : all.length - 1;
  if (state.current?.isConnected) {
    const behind = all.findIndex((each) => state.current.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_FOLLOWING);
    const at = all.indexOf(state.current);
    if (step > 0) next = behind < 0 ? 0 : behind;
    else next = at > 0 ? at - 1 : (behind > 0 && at < 0 ? behind - 1 : all.length - 1);
  }
  mark(all[next]);
  all[next].focus({ preventScroll: true });
  all[next].scrollIntoView({ block: "center" });
}
function goTo(strip, event) {
  const box = strip.getBoundingClientRect();
  const at = ((event.clientX - box.left) / box.width) * Number(strip.dataset.until);
  const said = [...log.querySelectorAll(".phrase[data-at]:not(.out)")];
  const before = said.filter((each) => Number(each.dataset.at) <= at);
  const phrase = before.at(-1) ?? said[0];
  if (!phrase) return;
  mark(phrase);
  phrase.focus({ preventScroll: true });
  phrase.scrollIntoView({ block: "center" });
}
log.addEventListener("focusin", (event) => {
  const phrase = event.target.closest(".phrase");
  if (phrase) mark(phrase);
});
document.addEventListener("click", (event) => {
  const strip = event.target.closest("#strip");
  if (strip) return goTo(strip, event);
  const button = event.target.closest("[data-do]");
  if (button) return perform(button.dataset.do, button);
  const phrase = event.target.closest?.(".phrase");
  if (phrase) mark(phrase);
});

// ---- what is shown
function show() {
  const only = new FormData(filter).get("show"), tag = filter.tag.value.trim(), kind = filter.kind.value;
  let shown = 0, all = 0;
  for (const sheet of log.querySelectorAll(".exam")) {
    const named = !tag || sheet.dataset.tag.startsWith(tag);
    let some = false;
    for (const phrase of sheet.querySelectorAll(".phrase")) {
      const fits = named && (only === "all" || phrase.classList.contains(only)) && (!kind || phrase.dataset.kinds.split(" ").includes(kind));
      phrase.classList.toggle("out", !fits);
      some ||= fits;
      all += 1;
      shown += fits;
    }
    const out = !some && (only !== "all" || kind || !named);
    sheet.classList.toggle("out", Boolean(out));
    byId("index").querySelector(`a[href="#${sheet.id}"]`)?.parentElement.classList.toggle("out", Boolean(out));
  }
  byId("shown").textContent = `${shown} of ${all} phrases`;
}
filter.addEventListener("input", show);
filter.addEventListener("submit", (event) => event.preventDefault());

// ---- keys
const OF_PHRASE = { e: "phrase", w: "withdraw", m: "move", x: "split" };
const OF_ANIMAL = { i: "insert", t: "tag", g: "merge", b: "add", a: "approve" };
const AGAIN = { u: "undo", r: "redo" };
function key(event) {
  const at = state.current;
  if (event.key === "?") return help.showModal();
  if (event.key === "A") return approveVisit();
  const name = event.key.toLowerCase();
  if (name === "j") return go(1);
  if (name === "k") return go(-1);
  if (name === "n") return go(1, ".phrase.doubtful:not(.out)");
  if (AGAIN[name]) {
    const again = byId(AGAIN[name]);
    return again ? again.click() : tell(`There is nothing to ${AGAIN[name]}.`);
  }
  if (name === "f") return filter.show[0].focus();
  if (!at?.isConnected) return tell("Choose a phrase first: J goes to the next.");
  if (name === "p") return play(at);
  if (/^[0-9]$/.test(name)) {
    const answer = at.querySelector(`.answers [data-text="${name}"]`);
    return answer ? answer.click() : tell("No such answer is asked for here.");
  }
  if (examOf(at).dataset.exam === "0") return tell("This was said before the first animal.");
  if (OF_ANIMAL[name]) return perform(OF_ANIMAL[name], at);
  const button = at.querySelector(`[data-do=${OF_PHRASE[name]}]`);
  if (button) return button.click();
  tell(at.dataset.phrase ? "Nothing of this phrase is recorded." : "Nobody said this: withdraw it, and insert what is right.");
}
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !editor.hidden) return closeEditor();
  if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]") || !byId("keys").checked) return;
  if (event.target.matches("input:not([type=radio]), select, textarea")) return;
  const known = "jknpfurwemxitgba0123456789?".includes(event.key.toLowerCase());
  if (!known || event.key.length > 1) return;
  event.preventDefault();
  key(event);
});
const keep = (id, get, set) => {
  try { const kept = localStorage.getItem(id); if (kept !== null) set(kept); } catch { /* not kept here */ }
  byId(id).addEventListener("change", () => { try { localStorage.setItem(id, get()); } catch { /* nor there */ } });
};
keep("who", () => who.value, (kept) => { who.value ||= kept; });
keep("keys", () => String(byId("keys").checked), (kept) => { byId("keys").checked = kept === "true"; });
byId("newest").addEventListener("change", (event) => event.target.checked && newest());
byId("help-open").addEventListener("click", () => help.showModal());
byId("approve-visit").addEventListener("click", approveVisit);
byId("phone-open")?.addEventListener("click", () => {
  byId("code").src = `/next.svg?${Date.now()}`;
  byId("phone").showModal();
});
show();
follow();
