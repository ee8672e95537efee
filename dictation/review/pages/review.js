// The page of the spoken log: keys and clicks become corrections; news of the visit replaces sheets.
"use strict";

const byId = (id) => document.getElementById(id);
const log = byId("log"), player = byId("player"), editor = byId("editor"), text = byId("text");
const offered = byId("offered"), filter = byId("filter"), help = byId("help"), who = byId("who");
const jump = byId("jump"), arrive = byId("arrive"), ask = byId("ask");
// seq: the last entry that what is typed is based on; drawn: the last that every sheet shows.
const state = { seq: Number(document.body.dataset.seq), drawn: Number(document.body.dataset.seq), current: null, matter: null, job: null, picked: -1 };

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
  const answer = await fetch(`/changes?since=${state.drawn}`);
  if (answer.ok) draw(await answer.json());
}
function draw(news) {
  const here = editor.hidden ? null : editor.closest("[data-exam]");
  const done = byId("open").querySelector("details")?.open;
  for (const part of ["head", "index", "open"]) byId(part).innerHTML = news[part];
  if (done) byId("open").querySelector("details").open = true;
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
  if (!state.stale) state.seq = state.drawn = news.seq;
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
    if (Number(event.data) > state.drawn && !state.stale) refresh();
  };
  news.onerror = () => tell("The line to this visit is broken; it is tried again.", true);
}

// ---- corrections
// One at a time: the next one is based on what the one before has become.
let doing = Promise.resolve();
const act = (fields, based = null) => (doing = doing.then(() => send(fields, based ?? state.seq)).catch(() => tell("This machine does not answer.", true)));
async function send(fields, based) {
  const form = new URLSearchParams(fields);
  form.set("csrf", document.body.dataset.csrf);
  form.set("based_on", based);
  form.set("who", who.value);
  if (!who.value.trim()) return introduce(() => act(fields, based));
  const answer = await fetch("/act", { method: "POST", body: form });
  const told = (await answer.json().catch(() => null)) ?? { told: "It was refused: load the page again." };
  if (told.asks) return choose(told, fields, based);
  if (answer.ok) {
    if (told.changes.seq >= state.drawn) draw(told.changes);
    // One's own act is no news to oneself, though another editor is open by now.
    if (state.stale && told.changes.seq === based + 1) state.seq = told.changes.seq;
    settle(fields);
  } else {
    if (answer.status === 409) await load();
    if (TYPED[fields.action]) reopen(fields);
  }
  tell(told.told, !answer.ok);
  return answer.ok;
}

// What does more than was seen, or leaves something open, is asked first.
function choose(told, fields, based) {
  byId("asked").textContent = told.asks;
  byId("choices").replaceChildren(...[...told.choices, "Leave it as it is"].map((words, place) => {
    const button = document.createElement("button");
    const number = place < told.choices.length ? place + 1 : 0;
    button.innerHTML = `<kbd>${number}</kbd> `;
    button.append(words);
    button.dataset.choice = number;
    button.addEventListener("click", () => {
      ask.close();
      if (number) act({ ...fields, choice: number }, based);
    });
    return button;
  }));
  ask.showModal();
}
ask.addEventListener("keydown", (event) => ask.querySelector(`[data-choice="${event.key}"]`)?.click());

// A name is asked once; what was wanted then is done after it.
let wanted = null;
function introduce(then) {
  wanted = then ?? null;
  arrive.showModal();
  who.select();
}
arrive.addEventListener("close", () => {
  byId("me").textContent = who.value.trim() || "Who are you?";
  who.dispatchEvent(new Event("change"));
  if (who.value.trim() && wanted) wanted();
  wanted = null;
});
byId("me").addEventListener("click", () => introduce());

// Somebody else was first: what was typed stays, beside what it has become meanwhile.
function reopen(job) {
  const about = job.finding && log.querySelector(`[data-finding="${job.finding}"] .value`);
  const phrase = about || byId(`phrase-${job.phrase}`) || byId(`exam-${job.exam}`)?.querySelector("header");
  if (!phrase || !editor.hidden) return;
  openEditor(job.action, phrase);
  text.value = job.text;
  byId("why").value = job.why ?? "";
  typed();
}

const examOf = (node) => node.closest(".exam");
const ABOUT = { exam: ".exam", phrase: ".phrase", query: "[data-query]", finding: "[data-finding]", entry: "[data-entry]" };
const where = (node) => Object.fromEntries(
  Object.entries(ABOUT).map(([name, at]) => [name, node.closest(at)?.dataset[name] ?? ""]));

const TYPED = {
  phrase: ["What was said", "read"],
  value: ["is", "read"],
  insert: ["Phrase that was missed", "read"],
  move: ["Tag of the animal it belongs to"],
  merge: ["Tag of the animal it is the same as"],
  tag: ["Tag"],
  add: ["Tag of the missed animal"],
};

function perform(action, node) {
  if (action === "play") return play(node.closest(".phrase"));
  if (action === "next") return goOpen(1);
  if (action === "before") return goOpen(-1);
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
  const value = action === "value" && node.closest("[data-finding]").querySelector(".value");
  const cow = sheet.querySelector("h3 .tag")?.textContent ?? "";
  byId("editor-label").textContent = `${cow}: ${value ? `${spoken(value)} ` : ""}${TYPED[action][0]}`;
  text.value = action === "phrase" && !phrase.classList.contains("refused") ? phrase.querySelector(".said").textContent.trim() : "";
  byId("why").value = "";
  byId("reads").textContent = "";
  editor.hidden = false;
  text.focus({ preventScroll: true });
  text.select();
  editor.scrollIntoView({ block: "center" });
  if (text.value) read();
}

// The words of a finding, without its number.
const spoken = (button) => [...button.childNodes].filter((each) => each.nodeName !== "KBD").map((each) => each.textContent).join("").trim();

function shut() {
  editor.hidden = true;
  offer([]);
  document.body.append(editor);
  state.job = null;
  state.stale = false;
}
async function closeEditor() {
  const back = editor.hidden ? null : state.back, stale = state.stale;
  shut();
  state.stale = stale;
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
  byId("reads").textContent = text.value.trim() ? "Not yet read." : "";
  await new Promise((then) => setTimeout(then, 60)); // several keys at once are read once
  if (turn !== asked || editor.hidden) return;
  await read();
  if (turn !== asked || state.job?.action === "value") return;
  const answer = await fetch(`/completions?prefix=${encodeURIComponent(text.value)}`);
  if (turn === asked && answer.ok && !editor.hidden) offer(await answer.json());
}

async function read() {
  const turn = asked;
  if (TYPED[state.job?.action]?.[1] !== "read" || !text.value.trim()) return;
  const answer = await fetch(`/reading?${new URLSearchParams({ ...state.job, text: text.value })}`);
  if (turn !== asked || !answer.ok || editor.hidden) return;
  byId("reads").textContent = (await answer.json()).words;
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
  const job = { ...state.job, text: text.value, why: byId("why").value };
  const stale = state.stale;
  tell("Saves.");
  closeEditor(); // keys act again at once; what is refused opens it again
  act(job, stale ? state.seq : null);
});
byId("editor-close").addEventListener("click", closeEditor);

// ---- sound
let slow = false, words = [];
function play(phrase, share = 0) {
  const button = phrase?.querySelector("[data-do=play]");
  if (!button) return tell("There is no sound of this: it was typed.");
  const playing = button.classList.contains("playing");
  stop();
  if (playing && !share) return;
  mark(phrase);
  player.src = `/sound/${phrase.dataset.phrase}.flac`;
  player.playbackRate = slow ? 0.6 : 1;
  button.classList.add("playing");
  follow_words(phrase);
  player.play().then(
    () => {
      if (share && Number.isFinite(player.duration)) player.currentTime = share * player.duration;
      requestAnimationFrame(move);
      tell(`Plays ${phrase.querySelector(".when").textContent.trim()}${slow ? ", slower" : ""}.`);
    },
    () => { stop(); tell("The sound cannot be played here.", true); },
  );
}
// The heard words light up as they are said, where each has its time.
async function follow_words(phrase) {
  const said = phrase.querySelector(".said");
  words = [];
  const answer = await fetch(`/words/${phrase.dataset.phrase}`);
  const times = answer.ok ? await answer.json() : [];
  const heard = said.textContent.trim().split(/\s+/);
  if (times.length !== heard.length) return;
  said.replaceChildren(...heard.flatMap((word) => {
    const lit = document.createElement("span");
    lit.textContent = word;
    return [lit, " "];
  }));
  words = [...said.children].map((node, place) => [node, ...times[place]]);
}
function move() {
  const point = document.querySelector(".playing .point");
  if (!point) return;
  const at = player.currentTime;
  if (player.duration) point.style.left = `${(100 * at) / player.duration}%`;
  for (const [node, from, until] of words) node.classList.toggle("now", from <= at && at < until);
  if (!player.paused) requestAnimationFrame(move);
}
function stop() {
  player.pause();
  for (const [node] of words) node.classList.remove("now");
  document.querySelectorAll(".playing").forEach((button) => button.classList.remove("playing"));
}
player.addEventListener("ended", () => { stop(); player.dataset.ended = player.src; });

// ---- moving about
function mark(phrase) {
  log.querySelectorAll(".current").forEach((each) => each.classList.remove("current"));
  const fresh = phrase && byId(phrase.id);
  state.current = fresh ?? null;
  fresh?.classList.add("current");
  const sheet = fresh && examOf(fresh);
  sheet?.classList.add("current");
  for (const link of byId("index").querySelectorAll("a"))
    if (sheet && link.hash === `#${sheet.id}`) link.ariaCurrent = "true";
    else link.removeAttribute("aria-current");
}
function goTo(node) {
  mark(node);
  node.focus({ preventScroll: true });
  node.scrollIntoView({ block: "center" });
}
// What is open, in its order; an answer goes on to the one that takes its place.
const matters = () => [...byId("open").querySelectorAll(".matters a")];
function goOpen(step) {
  const all = matters(), at = all.findIndex((link) => link.hash === state.matter);
  if (!all.length) return tell("Nothing is open.");
  const next = at < 0 ? (step > 0 ? Math.min(state.place ?? 0, all.length - 1) : all.length - 1) : at + step;
  if (next < 0 || next >= all.length) return tell(step > 0 ? "This is the last that is open." : "This is the first that is open.");
  lookAt(all[next], next);
}
function lookAt(link, place) {
  const node = document.querySelector(link.hash);
  if (!node) return;
  state.matter = link.hash;
  state.place = place;
  if (node.closest(".out")) { filter.show[0].checked = true; filter.kind.value = ""; show(); }
  goTo(node);
  if (byId("self").checked && node.querySelector("[data-do=play]")) play(node);
}
function settle(fields) {
  const still = matters().some((link) => link.hash === state.matter);
  if (state.matter && !still && ["answer", "none", "keep", "phrase"].includes(fields.action)) {
    state.matter = null;
    if (matters().length) goOpen(1);
  } else if (state.current && document.activeElement === document.body) state.current.focus({ preventScroll: true });
}
function jumpTo(tag) {
  const sheets = [...log.querySelectorAll(".exam[data-tag]")].filter((sheet) => sheet.dataset.tag);
  const sheet = sheets.find((each) => each.dataset.tag === tag) ?? sheets.find((each) => each.dataset.tag.startsWith(tag));
  if (!tag || !sheet) return tell(`There is no tag ${tag}.`, true);
  jump.value = "";
  const phrase = sheet.querySelector(".phrase:not(.out)") ?? sheet;
  mark(phrase);
  phrase.focus({ preventScroll: true });
  sheet.scrollIntoView();
  tell(`Tag ${sheet.dataset.tag}.`);
}
jump.addEventListener("input", () => {
  const tag = jump.value.trim();
  const like = [...log.querySelectorAll(".exam[data-tag]")].filter((each) => each.dataset.tag.startsWith(tag));
  if (tag && like.length === 1 && like[0].dataset.tag === tag) jumpTo(tag);
});
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
  goTo(all[next]);
}
function goToMoment(strip, event) {
  const box = strip.getBoundingClientRect();
  const at = ((event.clientX - box.left) / box.width) * Number(strip.dataset.until);
  const said = [...log.querySelectorAll(".phrase[data-at]:not(.out)")];
  const before = said.filter((each) => Number(each.dataset.at) <= at);
  const phrase = before.at(-1) ?? said[0];
  if (phrase) goTo(phrase);
}
log.addEventListener("focusin", (event) => {
  const phrase = event.target.closest(".phrase");
  if (phrase) mark(phrase);
});
document.addEventListener("click", (event) => {
  const strip = event.target.closest("#strip");
  if (strip) return goToMoment(strip, event);
  const link = event.target.closest(".matters a");
  if (link) { event.preventDefault(); return lookAt(link, matters().indexOf(link)); }
  const wave = event.target.closest(".wave[data-do]");
  if (wave && event.detail) {
    const box = wave.getBoundingClientRect();
    return play(wave.closest(".phrase"), wave.classList.contains("playing") || event.clientX - box.left > box.width / 8 ? (event.clientX - box.left) / box.width : 0);
  }
  const button = event.target.closest("[data-do]");
  if (button) return perform(button.dataset.do, button);
  const phrase = event.target.closest?.(".phrase");
  if (phrase) mark(phrase);
});

// ---- what is shown
function show() {
  const only = new FormData(filter).get("show"), kind = filter.kind.value;
  let shown = 0, all = 0;
  for (const sheet of log.querySelectorAll(".exam")) {
    let some = false;
    for (const phrase of sheet.querySelectorAll(".phrase")) {
      const fits = (only === "all" || phrase.classList.contains(only)) && (!kind || phrase.dataset.kinds.split(" ").includes(kind));
      phrase.classList.toggle("out", !fits);
      some ||= fits;
      all += 1;
      shown += fits;
    }
    const out = !some && (only !== "all" || kind);
    sheet.classList.toggle("out", Boolean(out));
    byId("index").querySelector(`a[href="#${sheet.id}"]`)?.parentElement.classList.toggle("out", Boolean(out));
  }
  byId("shown").textContent = `${shown} of ${all} phrases`;
}
filter.addEventListener("input", show);
filter.addEventListener("submit", (event) => { event.preventDefault(); jumpTo(jump.value.trim()); });
filter.addEventListener("change", (event) => event.target !== jump && event.target.blur());

// ---- keys
const OF_PHRASE = { c: "phrase", w: "withdraw", m: "move", x: "split" };
const OF_ANIMAL = { i: "insert", t: "tag", g: "merge", d: "add", a: "approve" };
const AGAIN = { u: "undo", r: "redo" };
const TRAVEL = { j: () => go(1), k: () => go(-1), n: () => goOpen(1), b: () => goOpen(-1), "/": () => jump.focus(), f: () => filter.show[0].focus() };
function digit(name, at) {
  const asked = at.querySelector(".answers");
  const one = asked ? asked.querySelector(`[data-text="${name}"]`) : examOf(at).querySelector(`[data-place="${name}"] .value`);
  if (!one) return tell(asked ? "No such answer is asked for here." : "She has no finding of that number.");
  if (!asked) return one.click();
  at.querySelectorAll("[aria-pressed]").forEach((each) => { each.ariaPressed = String(each === one); });
  tell(`Enter takes: ${spoken(one)}.`);
}
function key(event) {
  const at = state.current;
  if (event.key === "?") return help.showModal();
  if (event.key === "A") return act({ action: "approve", text: "visit" });
  const name = event.key.toLowerCase();
  if (TRAVEL[name]) return TRAVEL[name]();
  if (AGAIN[name]) {
    // What was done just now is drawn first, so that this is about it.
    return doing.then(() => (byId(AGAIN[name]) ? byId(AGAIN[name]).click() : tell(`There is nothing to ${AGAIN[name]}.`)));
  }
  if (name === "s") {
    slow = !slow;
    player.playbackRate = slow ? 0.6 : 1;
    return tell(slow ? "Slower." : "As it was said.");
  }
  if (!at?.isConnected) return tell("Choose a phrase first: J goes to the next.");
  if (name === "p" || name === " ") return play(at);
  if (/^[0-9]$/.test(name)) return digit(name, at);
  if (examOf(at).dataset.exam === "0") return tell("This was said before the first animal.");
  if (OF_ANIMAL[name]) return perform(OF_ANIMAL[name], at);
  const button = name === "e" ? at.querySelector(".value") : at.querySelector(`:scope > .do [data-do=${OF_PHRASE[name]}]`);
  if (button) return button.click();
  tell(at.dataset.phrase ? "Nothing of this phrase is recorded." : "Nobody said this: withdraw it, and add what is right.");
}
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !editor.hidden) return closeEditor();
  if (event.key === "Escape" && event.target === jump) return jump.blur();
  if (event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]") || !byId("keys").checked) return;
  if (event.target.matches("input:not([type=radio], [type=checkbox]), select, textarea")) return;
  const chosen = state.current?.querySelector("[aria-pressed=true]");
  if (event.key === "Enter" && chosen && !event.target.matches("button, a, summary")) { event.preventDefault(); return chosen.click(); }
  if (event.key === " " && event.target.matches("button, summary, input")) return;
  if (event.key.length > 1 || !"jknbpsfurcewmxitgda0123456789?/ ".includes(event.key.toLowerCase())) return;
  event.preventDefault();
  key(event);
});
const keep = (id, get, set) => {
  try { const kept = localStorage.getItem(id); if (kept !== null) set(kept); } catch { /* not kept here */ }
  byId(id).addEventListener("change", () => { try { localStorage.setItem(id, get()); } catch { /* nor there */ } });
};
keep("who", () => who.value, (kept) => { who.value ||= kept; });
keep("self", () => String(byId("self").checked), (kept) => { byId("self").checked = kept === "true"; });
keep("keys", () => String(byId("keys").checked), (kept) => { byId("keys").checked = kept === "true"; });
byId("newest").addEventListener("change", (event) => event.target.checked && newest());
byId("help-open").addEventListener("click", () => help.showModal());
byId("me").textContent = who.value.trim() || "Who are you?";
if (!who.value.trim()) introduce();
byId("phone-open")?.addEventListener("click", () => {
  byId("code").src = `/next.svg?${Date.now()}`;
  byId("phone").showModal();
});
show();
follow();
