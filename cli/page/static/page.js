// Without this script every answer is a form post. With it answers wait on the phone while the
// network is away, are sent in the order in which they were given, and show what others noted.
(() => {
  "use strict";
  if (!window.fetch || !("timeout" in AbortSignal)) return; // an old browser: plain forms

  const KEY = "livefood" + location.pathname.replace(/[^/]*$/, "");
  const wait = document.getElementById("wait");
  const ask = document.getElementById("ask");
  const heard = document.getElementById("heard");
  const EVERY_MS = 4000;
  const GONE = "This address is no longer good: open the new one.";
  const OLD_MS = 12 * 3600 * 1000;
  const HEARD_MS = 15000, SETTLES_MS = 350;
  let trouble = "", fading = 0, movedAt = -SETTLES_MS, reached = true;
  let sending = false;
  let memory = [];

  // The queue: kept by the browser where it can be, so that it outlives the page.
  const load = () => {
    try { return JSON.parse(localStorage.getItem(KEY)) || []; } catch { return memory; }
  };
  const save = (queue) => {
    memory = queue;
    try { localStorage.setItem(KEY, JSON.stringify(queue)); } catch { /* private window: kept in memory */ }
    show(queue);
  };
  // Two windows of one phone send one after the other; each change reads the queue anew.
  const add = (item) => save([...load(), item]);
  const drop = (id) => save(load().filter((item) => item.id !== id));

  const newId = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
  };

  const show = (queue) => {
    const left = queue.filter((item) => !item.held);
    // A page that says what the mistake is says it once.
    const saysSo = document.body.dataset.page === "" || document.querySelector("h2.before");
    wait.hidden = left.length === 0 && (!trouble || saysSo);
    const many = left.length === 1 ? "1 answer waits" : `${left.length} answers wait`;
    const names = left.map((i) => i.name).join("; ");
    wait.textContent = !left.length ? (trouble && `This page is as it was before a mistake at the computer: ${trouble}`)
      : trouble ? `${many} until a mistake at the computer is put right (${trouble}): ${names}`
        : `${many} for the network: ${names}`;
    for (const form of document.querySelectorAll("form[data-sent]")) {
      if (!queue.some((item) => item.id === form.dataset.sent)) delete form.dataset.sent;
    }
  };

  // What keeps the server from planning, where something does.
  const tell = (text) => {
    trouble = text;
    show(load());
  };

  // What was pressed, by the name that a screen reader gives it, or what was written.
  const nameOf = (form, button) => {
    const said = fieldsOf(form).filter((each) => each.tagName === "SELECT" || isChanged(each));
    const written = said.map((each) =>
      `${(each.getAttribute("aria-label") || each.labels[0].firstChild.textContent).replace("?", "")}: ${each.value}`);
    const name = button && (button.getAttribute("aria-label") || written.join("; ") || button.textContent);
    return (name || "answer").trim().replace(/\s+/g, " ").slice(0, 120);
  };

  const cardOf = (form) => form.closest(".card") || form.closest("details.more") || form;

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.action.endsWith("/answer")) return;
    event.preventDefault();
    heard.hidden = true;
    if (form.dataset.sent && load().some((item) => item.id === form.dataset.sent && !item.held)) return;
    const body = Object.fromEntries(new FormData(form));
    body.id = newId();
    const name = nameOf(form, event.submitter);
    form.dataset.sent = body.id;
    form.reset();
    form.closest("details.more")?.removeAttribute("open");
    cardOf(form).classList.add("waits");
    cardOf(form).setAttribute("aria-busy", "true");
    add({ id: body.id, body, at: Date.now(), name });
    send();
  });

  const send = async () => {
    if (sending) return;
    sending = true;
    let sent = false;
    try {
      for (;;) {
        const item = load().find((each) => !each.held);
        if (!item) break;
        const ago = Math.max(0, (Date.now() - item.at) / 1000);
        const answer = await post({ ...item.body, ago: ago.toFixed(0) });
        tell(answer && answer.state === "waits" ? answer.text : "");
        if (!answer || answer.state === "waits") break;
        sent = true;
        if (answer.state === "noted") hear(item, answer);
        const mind = answer.state === "noted" && answer.mind.length
          && { ...answer, text: answer.mind.join(" "), lines: answer.text.length };
        settle(item, answer.state === "noted" ? mind : answer);
      }
    } finally {
      sending = false;
    }
    if (sent) await refresh();
  };

  // The server's word on an answer, or nothing while it cannot be reached.
  const post = async (body) => {
    try {
      const response = await fetch("answer", {
        method: "POST", headers: { Accept: "application/json" },
        body: new URLSearchParams(body), signal: AbortSignal.timeout(20000),
      });
      if ([403, 404].includes(response.status)) return { state: "refused", text: GONE, more: {} };
      if (response.status >= 500 && response.status !== 503) return null;
      reached = true;
      return await response.json();
    } catch {
      reached = false;
      return null;
    }
  };

  // What is said above the bar, where the thumb is, for a while or until it was read.
  const tellBelow = (words, ...buttons) => {
    const said = document.createElement("p");
    said.textContent = words;
    heard.replaceChildren(said, ...buttons, button("Seen", "", () => { heard.hidden = true; }));
    heard.hidden = false;
    clearTimeout(fading);
    fading = setTimeout(() => { heard.hidden = true; }, HEARD_MS);
  };

  // Another page is not there without the network, and this one would be lost.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (reached || !link || link.getAttribute("href").startsWith("#")) return;
    event.preventDefault();
    tellBelow("No network: this page stays as it is, and the others come when it is back.");
    look();
  });

  // What was noted, with the way back; a card that was answered shows as much itself.
  const hear = (item, { text, line, mind }) => {
    if (["task", "tank", "round", "tasks"].includes(item.body.kind) && text.length && !mind.length) return;
    const undo = item.body.kind === "undo";
    if (undo) forget(Number(item.body.line), item.body.all === "1");
    const back = button("Take back", "", () => {
      const id = newId();
      heard.hidden = true;
      add({ id, body: { id, kind: "undo", line: String(line), all: "1" }, at: Date.now(), name: `Take back: ${text.join("; ")}` });
      send();
    });
    const words = undo ? `Taken back: ${item.name.replace("Take back: ", "")}` : `Noted: ${text.join("; ")}`;
    if (mind.length) { // its first sentence here, the rest at the top of the page
      tellBelow(`${words}. ${mind[0].split(". ")[0].replace(/\.$/, "")}.`, ...(line ? [back] : []));
      return;
    }
    tellBelow(text.length ? words : "That was noted already.", ...(line && !undo ? [back] : []));
  };

  // What was to be minded of a note is over once that is taken back.
  const forget = (line, all) => {
    save(load().filter((each) => {
      const its = each.held && each.held.state === "noted" ? Number(each.held.more.line || each.held.line) : 0;
      return !its || !(its === line || (all && its < line && line - its < each.held.lines));
    }));
    showHeld();
  };

  // What an answer is about: of two about the same thing the later takes the place of the earlier.
  const ABOUT = ["kind", "task", "tank", "event", "subject", "round", "line"];
  const about = (item) => ABOUT.map((name) => item.body[name] || "").join("\n");

  // An answer that was not noted stays until the keeper says what becomes of it.
  const settle = (item, held) => {
    const others = load().filter((each) => !each.held || about(each) !== about(item) || each.at > item.at);
    save(others.flatMap((each) => (each.id !== item.id ? [each] : held ? [{ ...each, held }] : [])));
    showHeld();
  };

  const isNoted = (item) => item.held.state === "noted";
  const isOld = (item) => Date.now() - item.at > OLD_MS;
  const clock = (item) => new Date(item.at).toLocaleString([], {
    ...(isOld(item) && { weekday: "short" }), hour: "2-digit", minute: "2-digit" });

  // The newest question in full; those before it and of another day, and what is noted, unfold.
  const showHeld = () => {
    const held = load().filter((item) => item.held).sort((a, b) => b.at - a.at);
    const full = held.filter((item, i) => i === 0 && !isOld(item) && !isNoted(item)).map(box);
    const rest = held.slice(full.length), all = rest.length === 1 ? "1 answer" : `${rest.length} answers`;
    if (rest.length) {
      const folded = document.createElement("details"), line = document.createElement("summary");
      Object.assign(folded, { className: "strip", open: Boolean(ask.querySelector("details[open]")) });
      line.textContent = rest.every(isNoted) ? `Noted, and mind this: ${all}` : `Not noted: ${all} to look at`;
      folded.append(line, ...rest.map(box));
      full.push(folded);
    }
    ask.replaceChildren(...full);
  };

  const box = (item) => {
    const box = document.createElement("section"), head = document.createElement("h2");
    const text = document.createElement("p"), row = document.createElement("div");
    const time = document.createElement("small"), { more = {} } = item.held, { over, shown } = more, noted = isNoted(item);
    box.className = "strip";
    head.textContent = over ? "Which of the two is right?" : noted ? "Noted, and mind this" : "Not noted";
    time.textContent = ` pressed at ${clock(item)}`;
    head.append(time);
    text.textContent = `You pressed: ${item.name}. ${item.held.text}`;
    row.className = "answers";
    const leave = () => { drop(item.id); showHeld(); refresh(); };
    row.append(button(over ? "The earlier is right" : noted ? "Seen" : "Drop it", over ? "" : "main", leave));
    if (Object.keys(more).length) {
      // What was doubted on another day is looked at anew: the reason may be past.
      const again = isOld(item) && more.sure;
      const words = again ? "Send it again" : more.kind ? "Keep it apart" : over ? "Mine is right" : shown ? "It is about that day" : "It is so all the same";
      row[over ? "prepend" : "append"](button(words, "", () => {
        const body = { ...item.body, ...(again ? {} : more), id: newId() };
        drop(item.id);
        add({ id: body.id, body, at: item.at, name: item.name });
        showHeld();
        send();
      }));
    }
    if (item.held.line && !noted) {
      row.append(button(`Take back line ${item.held.line}, and send it again`, "", () => {
        const back = { kind: "undo", line: String(item.held.line), all: "", id: newId() }, body = { ...item.body, id: newId() };
        drop(item.id);
        add({ id: back.id, body: back, at: Date.now(), name: `Take back: line ${back.line}` });
        add({ id: body.id, body, at: item.at, name: item.name });
        showHeld();
        send();
      }));
    }
    box.append(head, text, row);
    return box;
  };

  const button = (words, look, press) => {
    const made = document.createElement("button");
    Object.assign(made, { type: "button", className: look, textContent: words });
    made.addEventListener("click", press);
    return made;
  };

  // What is open, chosen or typed on the page, by the form that it stands in.
  const formKey = (form) => JSON.stringify([...form.querySelectorAll("[type=hidden]")]
    .filter((each) => each.name !== "id" && each.name !== "shown").map((each) => [each.name, each.value]));
  const fieldsOf = (form) => [...form.querySelectorAll("input:not([type=hidden]), select")];

  const isChanged = (each) => each.tagName === "SELECT"
    ? each.selectedIndex > 0 && !each.options[each.selectedIndex].defaultSelected
    : each.value !== each.defaultValue;

  const typed = () => {
    const kept = new Map();
    kept.open = [...document.querySelectorAll("details[open][data-keep]")].map((each) => each.dataset.keep);
    for (const form of document.querySelectorAll("main form")) {
      kept.set(formKey(form), {
        open: Boolean(form.closest("details")?.open),
        values: fieldsOf(form).map((each) => (isChanged(each) ? each.value : undefined)),
        at: fieldsOf(form).indexOf(document.activeElement),
      });
    }
    return kept;
  };

  const restore = (main, kept) => {
    for (const each of main.querySelectorAll("details[data-keep]")) each.open = kept.open.includes(each.dataset.keep);
    for (const form of main.querySelectorAll("form")) {
      const before = kept.get(formKey(form));
      if (!before) continue;
      if (before.open) form.closest("details").open = true;
      fieldsOf(form).forEach((each, i) => { if (before.values[i] !== undefined) each.value = before.values[i]; });
      if (before.at >= 0 && fieldsOf(form)[before.at]) fieldsOf(form)[before.at].focus({ preventScroll: true });
    }
  };

  // What lies under the thumb stays there when what was answered shrinks: the next form below it.
  const placeOf = () => {
    const sent = document.querySelector("main .waits");
    const next = [...document.querySelectorAll("main form")].find((form) => !form.closest(".waits")
      && (sent ? sent.compareDocumentPosition(form) & 4 : form.getBoundingClientRect().top > 0) && form.offsetParent);
    return next && { key: formKey(next), top: next.getBoundingClientRect().top };
  };

  const hold = (place) => {
    const form = place && [...document.querySelectorAll("main form")].find((each) => formKey(each) === place.key);
    if (!form || !form.offsetParent) return;
    scrollBy({ top: form.getBoundingClientRect().top - place.top, behavior: "instant" });
    // Where the page cannot be scrolled so far, a thumb that is on its way hits nothing.
    if (Math.abs(form.getBoundingClientRect().top - place.top) > 8) movedAt = performance.now();
  };

  document.addEventListener("click", (event) => {
    if (event.isTrusted && performance.now() - movedAt < SETTLES_MS && event.target.closest("main")) {
      event.preventDefault();
      event.stopPropagation();
    }
  }, true);

  // The page anew, where somebody noted something or a round has begun.
  const refresh = async () => {
    try {
      const response = await fetch(location.href, { signal: AbortSignal.timeout(20000) });
      const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
      if (response.status === 503) tell(fresh.querySelector("#main .strip").textContent);
      if (!response.ok) return;
      tell("");
      const main = fresh.getElementById("main");
      if (!main || load().some((item) => !item.held)) return;
      const kept = typed(), place = placeOf();
      await Promise.all([...main.querySelectorAll("details[data-more]")].map(
        (each) => kept.open.includes(each.dataset.keep) && fill(each)));
      const name = document.activeElement && document.activeElement.getAttribute("aria-label");
      document.getElementById("main").replaceWith(document.adoptNode(main));
      document.querySelector(".top").replaceWith(document.adoptNode(fresh.querySelector(".top")));
      document.body.dataset.version = fresh.body.dataset.version;
      restore(main, kept);
      steppers();
      const again = name && [...main.querySelectorAll("button")].find(
        (each) => each.getAttribute("aria-label") === name);
      if (again) again.focus({ preventScroll: true });
      hold(place);
    } catch { /* no network: the page stays as it is */ }
  };

  // What is folded comes once it is wanted; until then, and where it does not, a link leads to it.
  const fill = async (folded) => {
    const id = folded.dataset.keep, from = folded.dataset.more;
    if (!from) return;
    delete folded.dataset.more;
    try {
      const response = await fetch(from, { signal: AbortSignal.timeout(20000) });
      const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
      const found = fresh.getElementById(id);
      if (!found) throw new Error(id);
      document.adoptNode(found);
      folded.querySelector(`#${CSS.escape(id)}`).replaceWith(found);
      if (folded.isConnected) steppers();
    } catch { folded.dataset.more = from; }
  };

  document.addEventListener("toggle", (event) => {
    if (event.target.open && event.target.dataset.more) fill(event.target);
  }, true);

  const look = async () => {
    if (document.hidden) return;
    if (load().some((item) => !item.held)) return send();
    try {
      const response = await fetch("version", { signal: AbortSignal.timeout(8000) });
      reached = true;
      if (response.status === 404) {
        clearInterval(timer); // a wrong key must not knock on and on
        wait.hidden = false;
        wait.textContent = GONE;
      }
      if (!response.ok) return;
      const { version } = await response.json();
      if (version !== document.body.dataset.version || trouble) await refresh();
    } catch { reached = false; }
  };

  // Less and more beside an amount.
  const steppers = () => {
    for (const step of document.querySelectorAll(".step")) {
      const size = Number(step.dataset.step);
      const input = step.querySelector("input");
      if (!size || step.querySelector("button")) continue;
      const move = (by) => () => {
        const now = Number(input.value.replace(",", ".")) || 0;
        input.value = String(Math.max(0, Math.round((now + by) * 1000) / 1000));
      };
      const less = button("\u2212", "", move(-size));
      const more = button("+", "", move(size));
      less.setAttribute("aria-label", "Less");
      more.setAttribute("aria-label", "More");
      input.before(less);
      step.append(more);
    }
  };

  // A menu of the bar is over once something of it was chosen, or another is opened.
  document.querySelector(".bar")?.addEventListener("click", (event) => {
    const mine = event.target.closest("summary")?.parentElement;
    for (const each of document.querySelectorAll(".bar details")) if (each !== mine) each.open = false;
  });

  // A place that was led to is unfolded, where the browser does not do so by itself.
  const unfold = () => {
    const place = document.querySelector(":target"), folded = place?.closest("details:not([open])");
    if (folded) { folded.open = true; place.scrollIntoView(); }
  };

  addEventListener("hashchange", unfold);
  addEventListener("online", send);
  addEventListener("storage", (event) => { if (event.key === KEY) { show(load()); showHeld(); } });
  document.addEventListener("visibilitychange", look);
  steppers();
  unfold();
  show(load());
  showHeld();
  const timer = setInterval(look, EVERY_MS);
  if (load().length) send();
})();
