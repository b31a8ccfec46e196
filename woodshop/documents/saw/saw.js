"use strict";
// The saw page. The same code runs in saw.html, which has its data inside and keeps ticks in the browser, and on the
// page that a server sends, which fetches its data and sends ticks until the server has acknowledged them.
(() => {
  const $ = (id) => document.getElementById(id);
  const SVG = "http://www.w3.org/2000/svg";
  const KINDS = { cuts: "cuts made", cut: "layout cut", spoiled: "pieces spoiled", bad: "board with bad stretch", unusable: "board unusable", undo: "undo" };
  const COLUMNS = ["kind", "day", "id", "batch", "material", "layout", "times", "plan", "step", "stock", "offcut", "board", "part", "count", "from", "to", "of", "reason", "unit"];
  const inside = $("saw-data");
  let data = null;
  let layouts = new Map();
  let unit = "in";
  let at = 0;
  let server = []; // rows that the server has entered, in the order of the book
  let replaced = false; // a newer plan is in force: only boards that are begun are finished here
  let queue = []; // rows of this browser: {n, row}; on a served page those that are not yet acknowledged
  let storage = null;
  let sending = false;
  let wait = 1000;
  let lock = null;
  let problems = new Map(); // of rows that the server has refused, by id

  // ---- keeping ---------------------------------------------------------------------------------

  const planId = () => data.plan.slice(0, 16); // as in events
  const prefix = () => `woodshop-saw ${data.plan} `;

  function openStorage() {
    try {
      const own = window.localStorage;
      own.setItem("woodshop-saw test", "1");
      own.removeItem("woodshop-saw test");
      storage = own;
    } catch {
      storage = null;
    }
  }

  function readQueue() {
    if (!storage) return;
    const found = [];
    for (let n = 0; n < storage.length; n++) {
      const key = storage.key(n);
      if (!key.startsWith(`${prefix()}row `)) continue;
      try {
        const kept = JSON.parse(storage.getItem(key));
        if (kept && Number.isInteger(kept.n) && kept.row && typeof kept.row.id === "string") found.push(kept);
      } catch { /* not a row of ours */ }
    }
    queue = found.sort((a, b) => a.n - b.n || (a.row.id < b.row.id ? -1 : 1));
  }

  function keep(row) {
    readQueue();
    const kept = { n: Math.max(0, ...queue.map((each) => each.n)) + 1, row };
    if (storage) {
      try {
        storage.setItem(`${prefix()}row ${row.id}`, JSON.stringify(kept));
      } catch {
        storage = null;
      }
    }
    queue.push(kept);
  }

  function drop(id) {
    queue = queue.filter((each) => each.row.id !== id);
    if (storage) storage.removeItem(`${prefix()}row ${id}`);
  }

  function remember(name, value) {
    try { if (storage) storage.setItem(`woodshop-saw ${name}`, value); } catch { /* a view, not a tick */ }
  }

  function newId() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
  }

  function today() {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((each) => String(each).padStart(2, "0")).join("-");
  }

  // ---- what the rows say -----------------------------------------------------------------------

  function rows() {
    const known = new Set(server.map((row) => row.id));
    return [...server, ...queue.map((each) => each.row).filter((row) => !known.has(row.id) && !problems.has(row.id))];
  }

  function standing(all) {
    const undone = new Set();
    for (const row of [...all].reverse()) {
      if (row.kind === KINDS.undo && !undone.has(row.id)) undone.add(row.of);
    }
    return all.filter((row) => row.kind !== KINDS.undo && !undone.has(row.id));
  }

  let state = { ticked: new Map(), bad: new Map(), badAt: new Map(), all: [] };

  function fold() {
    const all = rows();
    const now = { ticked: new Map(), bad: new Map(), badAt: new Map(), all };
    const steps = new Map(data.steps.map((step, n) => [step.key, n]));
    const add = (map, key, count) => map.set(key, (map.get(key) || 0) + count);
    for (const row of standing(all)) {
      if (row.plan !== planId() || !steps.has(row.step)) continue;
      const step = steps.get(row.step);
      if (row.kind === KINDS.cuts) add(now.ticked, `${step} ${row.layout}`, Number(row.times));
      if (row.kind === KINDS.unusable || row.kind === KINDS.bad) {
        const count = row.kind === KINDS.bad ? 1 : Number(row.count);
        add(now.bad, `${data.steps[step].list} ${row.layout}`, count);
        add(now.badAt, `${step} ${row.layout}`, count);
      }
    }
    state = now;
  }

  const ticked = (n, layout) => state.ticked.get(`${n} ${layout}`) || 0;

  function stepsOf(list, layout) {
    const found = [];
    data.steps.forEach((step, n) => {
      if (step.list !== list) return;
      const board = step.boards.find((each) => each.layout === layout);
      if (board) found.push({ n, step, board });
    });
    return found;
  }

  // Boards that were cut into: squaring an end does not count, for such a board can still be cut another way.
  // A board found bad at a later step is not among them.
  function begunAt(list, layout) {
    let after = 0;
    return stepsOf(list, layout).reverse().map(({ n, step, board }) => {
      const good = ticked(n, layout) - after;
      after += state.badAt.get(`${n} ${layout}`) || 0;
      return { n, good: step.is_cut && !board.is_trim ? good : 0 };
    });
  }

  const begun = (list, layout) => Math.max(0, ...begunAt(list, layout).map((each) => each.good));

  function wanted(list, board) {
    if (replaced) return begun(list, board.layout);
    return Math.max(0, board.times - (state.bad.get(`${list} ${board.layout}`) || 0));
  }

  const left = (n, board) => Math.max(0, wanted(data.steps[n].list, board) - ticked(n, board.layout));
  const leftAt = (n) => data.steps[n].boards.reduce((sum, board) => sum + left(n, board), 0);
  const boardAt = (n) => data.steps[n].boards.find((board) => left(n, board) > 0) || data.steps[n].boards[0];

  function isCutInto(n, layout) {
    const own = ticked(n, layout);
    return begunAt(data.steps[n].list, layout).some((each) => each.n < n && each.good > own);
  }

  function completed(layout) {
    let sum = 0;
    data.lists.forEach((_, list) => {
      const own = stepsOf(list, layout);
      if (own.length) sum += Math.max(0, Math.min(own[0].board.times - (state.bad.get(`${list} ${layout}`) || 0), ...own.map(({ n }) => ticked(n, layout))));
    });
    return sum;
  }

  // When all cuts of a board are ticked, the book gets "layout cut"; its id follows from the plan, the layout and the
  // number of the board, so that two devices that see the same ticks enter it once.
  function derived() {
    const ids = new Set(state.all.map((row) => row.id));
    const standingIds = new Set(standing(state.all).map((row) => row.id));
    const found = [];
    for (const layout of data.layouts) {
      const count = completed(layout.number);
      for (let board = 1; board <= layout.times; board++) {
        const stem = `${planId()}-layout-${layout.number}-board-${board}`;
        let turn = 1;
        while (ids.has(`${stem}-${turn}`) && ids.has(`${stem}-${turn}-undo`)) turn++;
        const id = `${stem}-${turn}`;
        if (board <= count && !ids.has(id)) {
          found.push({ kind: KINDS.cut, id, batch: data.batch, material: layout.material, layout: layout.number, times: 1, plan: planId(), ...layout.book });
        } else if (board > count && standingIds.has(id)) {
          found.push({ kind: KINDS.undo, id: `${id}-undo`, of: id, reason: "a tick was undone" });
        }
      }
    }
    return found;
  }

  function enter(own) {
    for (const row of own) keep(row);
    fold();
    for (const row of derived()) keep(row);
    fold();
    show();
    send();
  }

  // ---- showing ---------------------------------------------------------------------------------

  function make(name, text, attributes = {}) {
    const element = document.createElement(name);
    if (text !== undefined) element.textContent = text;
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    return element;
  }

  function shape(name, attributes, text) {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    if (text !== undefined) element.textContent = text;
    return element;
  }

  function frameOf(svg, layout, high) {
    const wide = Math.max(200, svg.clientWidth || svg.parentElement.clientWidth || 320);
    const long = layout.length || 1;
    const across = layout.width || long / 16;
    const tall = Math.max(Math.min(84, high), Math.min(high, (wide - 8) * across / long));
    svg.setAttribute("viewBox", `0 0 ${wide} ${tall + 8}`);
    svg.style.height = `${tall + 8}px`;
    svg.replaceChildren();
    const x = (value) => 4 + value / long * (wide - 8);
    const y = (value) => 4 + tall - Math.min(value, across) / across * tall;
    return { x, y, across, long };
  }

  function rect(frame, [x, y, length, width], name, least = 0) {
    const long = Math.max(least, frame.x(x + length) - frame.x(x));
    const high = Math.max(least, frame.y(y) - frame.y(y + width));
    return shape("rect", { class: name, x: frame.x(x), y: frame.y(y) - high, width: long, height: high });
  }

  function drawBoard(svg, layout, board, high) {
    const frame = frameOf(svg, layout, high);
    const across = frame.across;
    svg.append(rect(frame, [0, 0, layout.length, across], "outline"));
    const taken = [];
    for (const [along, places] of board ? board.cuts : []) {
      for (const [x0, x1, y0, y1] of places) {
        const place = [x0, layout.width ? y0 : 0, x1 - x0, layout.width ? y1 - y0 : across];
        taken.push({ along, place });
      }
    }
    for (const piece of layout.pieces) svg.append(rect(frame, [piece[0], piece[1], piece[2], piece[3] || across], "piece"));
    for (const kept of layout.kept) svg.append(rect(frame, kept, "kept"));
    for (const { place } of taken) svg.append(rect(frame, place, "gone", 3));
    for (const { along, place: [x, y, long, wide] } of taken) {
      const ends = along
        ? [[x, y + wide < across ? y + wide : y], [x + long, y + wide < across ? y + wide : y]]
        : [[x + long < layout.length ? x + long : x, y], [x + long < layout.length ? x + long : x, y + wide]];
      const room = along ? frame.y(y) - frame.y(y + wide) : frame.x(x + long) - frame.x(x);
      svg.append(shape("line", { class: "blade", "stroke-width": Math.max(1, Math.min(4, room * 0.3)), x1: frame.x(ends[0][0]), y1: frame.y(ends[0][1]), x2: frame.x(ends[1][0]), y2: frame.y(ends[1][1]) }));
    }
    for (const [x, y, long, wide] of layout.bad) {
      svg.append(shape("path", { class: "crossed", d: `M${frame.x(x)} ${frame.y(y)}L${frame.x(x + long)} ${frame.y(y + wide)}M${frame.x(x)} ${frame.y(y + wide)}L${frame.x(x + long)} ${frame.y(y)}` }));
    }
    const letters = [...layout.pieces.map((piece) => [piece[0], piece[1], piece[2], piece[3] || across, piece[4]]), ...layout.kept];
    for (const [x, y, long, wide, mark] of letters) {
      const room = [frame.x(x + long) - frame.x(x), frame.y(y) - frame.y(y + wide)];
      const size = Math.min(22, room[1] * 0.95, room[0] / (0.62 * mark.length));
      if (size < 9) continue;
      const middle = [x + long / 2, y + wide / 2];
      const isOver = taken.some(({ place: [a, b, c, d] }) => middle[0] > a && middle[0] < a + c && middle[1] > b && middle[1] < b + d);
      const text = shape("text", { x: frame.x(middle[0]), y: frame.y(middle[1]), class: isOver ? "over" : "" }, mark);
      text.style.fontSize = `${size}px`;
      svg.append(text);
    }
    return frame;
  }

  function fit() {
    const box = $("set-box");
    const room = $("set").clientWidth - 24;
    const most = Math.max(64, Math.min(window.innerHeight * (window.innerWidth > window.innerHeight ? (window.innerHeight < 460 ? 0.22 : 0.27) : 0.2), 320));
    box.style.fontSize = "100px";
    const size = Math.min(most, 98 * room / Math.max(1, $("set-to").offsetWidth + $("set-unit").offsetWidth + 16));
    box.style.fontSize = `${Math.max(24, size)}px`;
  }

  function paragraphs(place, texts) {
    place.replaceChildren(...texts.map(([lead, text]) => {
      const line = make("p");
      if (lead) line.append(make("strong", `${lead} `));
      line.append(text);
      return line;
    }));
  }

  const fixed = (board) => layouts.get(board.layout);

  function show() {
    const step = data.steps[at];
    if (!step) return;
    const list = data.lists[step.list];
    const board = boardAt(at);
    const layout = fixed(board);
    const rest = leftAt(at);
    const form = layout.form;
    const isAlone = step.boards.length === 1 && step.boards[0].times === 1;
    $("count").textContent = `Step ${at + 1} of ${data.steps.length}.`;
    $("where").textContent = `${list.title}: ${list.material}`;
    $("deed").textContent = step.deed;
    $("set").hidden = !step.is_cut;
    const [first, ...others] = step.to[unit].split(", ");
    $("set-name").textContent = step.set;
    $("set-to").textContent = first;
    $("set-unit").textContent = step.is_length ? unit : "";
    $("set-rest").textContent = others.join(", ");
    $("more").textContent = step.more[unit];
    paragraphs($("cautions"), step.cautions[unit]);
    $("board-title").textContent = `Layout ${layout.number}: ${layout.what}, ${layout.size[unit]}`;
    $("board-notes").textContent = isFirst(at, board.layout) ? `Chalk ${layout.number} on it. ${layout.notes[unit]}` : "";
    $("still-name").textContent = `${form}${rest === 1 ? "" : "s"} left`;
    $("still").textContent = String(rest);
    $("gives").textContent = board.gives || "nothing yet";
    const [done, all] = piecesOf(list.material);
    $("pieces").textContent = `${done} of ${all}`;
    $("stamp").hidden = rest > 0;
    const isLast = at === data.steps.length - 1;
    const isOver = data.steps.every((_, n) => leftAt(n) === 0);
    $("stamp").textContent = isOver ? "Every board is cut." : "All boards at this setting are done.";
    $("done").textContent = rest ? (rest > 1 && !isAlone ? `Done: 1 ${form}` : "Done") : isOver ? "Every board is cut" : isLast ? "Next open step" : "Next step";
    $("done").disabled = !rest && isOver;
    $("all").textContent = rest > 1 ? `Done: all ${rest}` : "Done: all";
    $("all").disabled = rest < 2;
    $("back").disabled = at === 0;
    $("next").disabled = isLast;
    $("undo").disabled = !lastOwn();
    $("bad").disabled = rest === 0;
    $("work").hidden = false;
    drawBoard($("board"), layout, board, window.innerHeight > 600 ? window.innerHeight * 0.2 : 84);
    fit();
    showSaved();
    if ($("menu-dialog").open) showMenu();
  }

  function isFirst(n, layout) {
    return stepsOf(data.steps[n].list, layout)[0].n === n;
  }

  function piecesOf(material) {
    let done = 0, all = 0;
    data.steps.forEach((step, n) => {
      if (data.lists[step.list].material !== material) return;
      for (const board of step.boards) {
        done += board.pieces * Math.min(ticked(n, board.layout), board.times);
        all += board.pieces * board.times;
      }
    });
    return [done, all];
  }

  function showSaved() {
    const place = $("saved");
    const open = queue.filter((each) => !problems.has(each.row.id)).length;
    place.classList.toggle("waiting", inside ? !storage : open > 0);
    if (inside) place.textContent = storage ? `Kept in this browser: ${open}` : "Not kept";
    else place.textContent = open ? `Not saved yet: ${open}` : "All saved";
  }

  function alertOf(id, text, action, act) {
    let box = $(id);
    if (!text) { if (box) box.remove(); return; }
    if (!box) {
      box = make("div", undefined, { id, class: "alert", role: "alert" });
      $("alerts").append(box);
    }
    box.replaceChildren(make("p", text));
    if (action) {
      const button = make("button", action, { type: "button" });
      button.addEventListener("click", act);
      box.append(button);
    }
  }

  function showMenu() {
    $("kept").textContent = inside
      ? (storage ? "Ticks are kept in this browser, on this device. Clearing the browser’s data removes them: save them to a file first." : "This browser does not keep ticks for this page. They are gone when you close it: save them to a file first.")
      : (storage ? "Ticks go to the shop’s book. Until the book has them, this browser keeps them." : "This browser keeps nothing for this page. Close it only when “All saved” is shown.");
    $("awake").textContent = lock ? "The screen stays on." : "This browser may let the screen go dark. Set the screen to stay on in the device’s settings.";
    $("import-help").textContent = inside ? "On the shop’s computer: woodshop book import BOOK FILE. Importing a file again adds nothing." : "";
    $("rest").hidden = Boolean(inside) || replaced;
    const list = data.lists[data.steps[at].list];
    paragraphs($("notes"), list.notes[unit]);
    if (list.notes[unit].length) $("notes").prepend(make("h3", `${list.title}: ${list.material}`));
    $("steps").replaceChildren(...data.steps.map((step, n) => {
      const rest = leftAt(n);
      const to = step.is_cut ? `, ${step.to[unit]}` : "";
      const item = make("li");
      const button = make("button", `${n + 1}. ${step.deed}${to}: ${rest ? `${rest} to do` : "done"}`, { type: "button" });
      if (n === at) button.setAttribute("aria-current", "step");
      button.addEventListener("click", () => { $("menu-dialog").close(); go(n); });
      item.append(button);
      return item;
    }));
  }

  function go(n) {
    at = Math.max(0, Math.min(data.steps.length - 1, n));
    remember(`at ${data.plan}`, String(at));
    show();
    window.scrollTo(0, 0);
    $("deed").focus({ preventScroll: true });
  }

  function nextOpen() {
    for (let n = 1; n <= data.steps.length; n++) {
      const to = (at + n) % data.steps.length;
      if (leftAt(to)) return to;
    }
    return at;
  }

  // ---- ticking ---------------------------------------------------------------------------------

  const base = (kind, id) => ({ kind, day: today(), id, batch: data.batch, plan: planId(), step: data.steps[at].key });

  function tick(isAll) {
    const boards = isAll ? data.steps[at].boards.filter((board) => left(at, board)) : [boardAt(at)];
    const id = newId();
    enter(boards.map((board, n) => ({
      ...base(KINDS.cuts, `${id}-${n + 1}`), material: fixed(board).material, layout: board.layout, times: isAll ? left(at, board) : 1,
    })));
  }

  // The last thing entered that still counts and is not a consequence of ticks.
  function lastOwn() {
    const kinds = [KINDS.cuts, KINDS.spoiled, KINDS.bad, KINDS.unusable];
    const own = standing(state.all).filter((row) => kinds.includes(row.kind) && row.plan === planId());
    return own[own.length - 1];
  }

  function undo() {
    const last = lastOwn();
    if (!last) return;
    const stem = last.id.replace(/-[0-9]+$/, "");
    const same = standing(state.all).filter((row) => row.id.replace(/-[0-9]+$/, "") === stem && row.kind === last.kind);
    const step = data.steps.findIndex((each) => each.key === last.step);
    if (step >= 0) at = step;
    const ids = new Set(state.all.map((row) => row.id));
    enter(same.reverse().map((row) => {
      let turn = 1;
      while (ids.has(`${row.id}-undo-${turn}`)) turn++;
      return { kind: KINDS.undo, id: `${row.id}-undo-${turn}`, of: row.id, reason: "undone at the saw" };
    }));
  }

  function openSpoiled() {
    const here = new Set(data.steps[at].boards.flatMap((board) => fixed(board).pieces.map((piece) => piece[4])));
    const letters = [...here, ...Object.keys(data.parts).filter((mark) => !here.has(mark))];
    $("letters").replaceChildren(...letters.map((mark, n) => {
      const label = make("label");
      const input = make("input", undefined, { type: "radio", name: "letter", value: mark });
      input.checked = n === 0;
      const words = make("span", mark);
      words.append(make("small", data.parts[mark].size[unit]));
      label.append(input, words);
      return label;
    }));
    $("how-many").value = "1";
    $("spoiled-wrong").textContent = "";
    $("spoiled-dialog").showModal();
  }

  function enterSpoiled() {
    const mark = document.querySelector("input[name=letter]:checked").value;
    const text = $("how-many").value.trim();
    if (!/^[1-9][0-9]{0,5}$/.test(text)) {
      $("spoiled-wrong").textContent = "How many: a whole number, 1 or more.";
      return;
    }
    $("spoiled-dialog").close();
    enter([{ ...base(KINDS.spoiled, newId()), material: data.parts[mark].material, part: mark, count: Number(text) }]);
    suggestRest(`Entered: ${text} ${mark} spoiled.`);
  }

  function suggestRest(text) {
    if (inside) alertOf("entered", `${text} To cut what is missing, save the ticks to a file, import it into the book, and plan the rest: woodshop plan DESIGN --rest --book BOOK.`, "Close", () => alertOf("entered"));
    else alertOf("entered", `${text} Plan the rest to see what changes. Nothing changes until you say so.`, "Plan the rest", () => { alertOf("entered"); planRest(); });
  }

  // ---- a bad board -----------------------------------------------------------------------------

  let range = null; // in units of the job
  const mm = (layout) => layout.unit[0] / layout.unit[1];
  const perUnit = (layout) => (unit === "mm" ? mm(layout) : mm(layout) / 25.4);

  function readLength(text) {
    const found = /^\s*(?:([0-9]+)\s+|([0-9]+)-)?([0-9]+)\/([1-9][0-9]*)\s*(in|mm|")?\s*$|^\s*([0-9]+(?:\.[0-9]+)?)\s*(in|mm|")?\s*$/.exec(text);
    if (!found) return null;
    const value = found[6] !== undefined ? Number(found[6]) : Number(found[1] || found[2] || 0) + Number(found[3]) / Number(found[4]);
    const own = (found[5] || found[7] || unit).replace("\"", "in");
    return own === "mm" ? value : value * 25.4;
  }

  function lengthText(value) {
    if (unit === "mm") return String(Math.round(value));
    const whole = Math.floor(value), rest = Math.round((value - whole) * 4);
    const fraction = ["", "1/4", "1/2", "3/4"][rest % 4];
    const all = whole + (rest === 4 ? 1 : 0);
    return fraction ? `${all ? `${all} ` : ""}${fraction}` : String(all);
  }

  function badBoard() {
    const number = Number(document.querySelector("input[name=bad-layout]:checked").value);
    return data.steps[at].boards.find((board) => board.layout === number);
  }

  function openBad() {
    const boards = data.steps[at].boards.filter((board) => left(at, board));
    $("bad-layouts").replaceChildren(...boards.map((board, n) => {
      const label = make("label");
      const input = make("input", undefined, { type: "radio", name: "bad-layout", value: board.layout });
      input.checked = n === 0;
      input.addEventListener("change", showBad);
      label.append(input, make("span", `Layout ${board.layout}`));
      return label;
    }));
    $("bad-which").hidden = boards.length < 2;
    range = null;
    for (const id of ["bad-from", "bad-to"]) $(id).value = "";
    $("bad-wrong").textContent = "";
    $("chalk").dataset.mark = newId().replace(/-/g, "").slice(0, 4).toUpperCase();
    document.querySelector("input[name=bad-part][value=part]").checked = true;
    $("bad-dialog").showModal();
    showBad();
  }

  function showBad() {
    const board = badBoard();
    const isInto = isCutInto(at, board.layout);
    const part = document.querySelector("input[name=bad-part][value=part]");
    part.disabled = isInto;
    if (isInto) document.querySelector("input[name=bad-part][value=whole]").checked = true;
    const isWhole = document.querySelector("input[name=bad-part]:checked").value === "whole";
    $("bad-into").textContent = isInto ? "This board is already cut into, so all of it counts as unusable. Its pieces are planned again. Keep any good part of it as an offcut." : "";
    $("bad-range").hidden = isWhole;
    $("chalk").textContent = `Chalk “${$("chalk").dataset.mark}” on the board, and put it aside.`;
    if (!isWhole) drawRange();
  }

  function drawRange() {
    const layout = fixed(badBoard());
    const svg = $("bad-board");
    const frame = drawBoard(svg, layout, null, 130);
    if (range) svg.append(rect(frame, [range[0], 0, range[1] - range[0], frame.across], "chosen", 2));
  }

  function placeOf(event) {
    const layout = fixed(badBoard());
    const box = $("bad-board").getBoundingClientRect();
    const part = Math.max(0, Math.min(1, (event.clientX - box.left - 4) / (box.width - 8)));
    const grain = unit === "mm" ? 5 : 0.25;
    const length = layout.length * perUnit(layout);
    return Math.min(length, Math.round(part * length / grain) * grain) / perUnit(layout);
  }

  let from = null;

  function drag(event) {
    if (event.type === "pointerdown") {
      from = placeOf(event);
      $("bad-board").setPointerCapture(event.pointerId);
    }
    if (from === null) return;
    const to = placeOf(event);
    range = [Math.min(from, to), Math.max(from, to)];
    const layout = fixed(badBoard());
    $("bad-from").value = lengthText(range[0] * perUnit(layout));
    $("bad-to").value = lengthText(range[1] * perUnit(layout));
    if (event.type === "pointerup" || event.type === "pointercancel") from = null;
    drawRange();
  }

  function typed() {
    const layout = fixed(badBoard());
    const ends = [readLength($("bad-from").value), readLength($("bad-to").value)];
    range = ends.every((each) => each !== null) && ends[0] < ends[1] ? ends.map((each) => Math.min(layout.length, each / mm(layout))) : null;
    drawRange();
  }

  function enterBad() {
    const board = badBoard();
    const layout = fixed(board);
    const whole = { material: layout.material, layout: board.layout, ...("stock" in layout.book ? layout.book : {}) };
    if (document.querySelector("input[name=bad-part]:checked").value === "whole") {
      $("bad-dialog").close();
      enter([{ ...base(KINDS.unusable, newId()), ...whole, count: 1 }]);
      suggestRest(`Entered: 1 ${layout.form} of layout ${board.layout} is unusable.`);
      return;
    }
    const ends = [readLength($("bad-from").value), readLength($("bad-to").value)];
    if (ends.some((each) => each === null) || ends[0] >= ends[1] || ends[1] > layout.length * mm(layout) + 0.01) {
      $("bad-wrong").textContent = `From and to: two lengths on this ${layout.form}, such as ${unit === "mm" ? "560 and 650" : "22 and 25 1/2"}.`;
      return;
    }
    $("bad-dialog").close();
    const texts = ["bad-from", "bad-to"].map((id) => $(id).value.trim());
    enter([{ ...base(KINDS.bad, newId()), ...whole, board: $("chalk").dataset.mark, from: texts[0], to: texts[1], unit }]);
    suggestRest(`Entered: a bad stretch from ${texts[0]} to ${texts[1]} on board ${$("chalk").dataset.mark}.`);
  }

  // ---- the file of ticks -----------------------------------------------------------------------

  function cell(value) {
    let text = value === undefined ? "" : String(value);
    if (/^[=+\-@\t\r]/.test(text)) text = `'${text}`;
    return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, "\"\"")}"` : text;
  }

  function csv(own) {
    const used = COLUMNS.filter((name) => name === "kind" || own.some((row) => row[name] !== undefined));
    return [used, ...own.map((row) => used.map((name) => row[name]))].map((row) => row.map(cell).join(",")).join("\r\n") + "\r\n";
  }

  function exportTicks() {
    const blob = new Blob([csv(inside ? queue.map((each) => each.row) : state.all)], { type: "text/csv" });
    const link = make("a", undefined, { href: URL.createObjectURL(blob), download: `saw-${data.plan.slice(0, 8)}-ticks.csv` });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  // ---- the server ------------------------------------------------------------------------------

  async function ask(path, body) {
    const how = body === undefined ? {} : { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) };
    const answer = await fetch(path, { ...how, cache: "no-store", credentials: "same-origin" });
    if (answer.status === 403) throw Object.assign(new Error("refused"), { problems: [{ where: "saw page", given: "the server was started again", wanted: "", do: "Open the address that it printed, in this browser. Ticks are kept here until then." }] });
    const read = await answer.json();
    if (!answer.ok) throw Object.assign(new Error("refused"), { problems: read.problems || [], status: answer.status });
    return read;
  }

  const sentence = (problem) => [problem.where, problem.given].filter(Boolean).join(": ") + (problem.wanted ? `. Wanted: ${problem.wanted}.` : ".") + (problem.do ? ` ${problem.do}` : "");

  function taken(answer) {
    server = answer.rows;
    replaced = answer.newer !== "";
    alertOf("older", answer.older ? "Boards are cut into on the earlier plan. Finish them first." : "", "Go to the earlier plan", () => { window.location.assign(answer.older); });
    alertOf("newer", replaced ? "A newer plan is in force. Here, finish only the boards that are already cut into." : "", "Go to the newer plan", () => { window.location.assign(answer.newer); });
  }

  async function send() {
    if (inside || sending) return;
    readQueue();
    const known = new Set(server.map((row) => row.id));
    for (const { row } of queue.filter((each) => known.has(each.row.id))) drop(row.id);
    const open = queue.filter((each) => !problems.has(each.row.id)).slice(0, 100);
    if (!open.length) { showSaved(); return; }
    sending = true;
    try {
      const answer = await ask("ticks", { plan: data.plan, rows: open.map((each) => each.row) });
      for (const id of answer.entered) drop(id);
      for (const { id, problem } of answer.refused) problems.set(id, problem);
      taken(answer);
      wait = 1000;
      alertOf("offline");
      if (answer.refused.length) {
        alertOf("refused", `Not entered in the book: ${answer.refused.map((each) => sentence(each.problem)).join(" ")}`, "Leave it out", () => {
          for (const id of [...problems.keys()]) drop(id);
          problems = new Map();
          alertOf("refused");
          enter([]);
        });
      }
      answer.notes.forEach((text, n) => alertOf(`note-${n}`, text, "Close", () => alertOf(`note-${n}`)));
      sending = false;
      fold();
      show();
      if (answer.entered.length) enter([]);
      return;
    } catch (why) {
      sending = false;
      const words = why.problems && why.problems.length ? why.problems.map(sentence).join(" ") : "The shop’s computer does not answer. Go on: ticks are kept here and sent when it does.";
      alertOf("offline", words);
      wait = Math.min(15000, wait * 2);
    }
    showSaved();
    setTimeout(send, wait);
  }

  async function refresh() {
    if (inside || sending || document.hidden) return;
    try {
      taken(await ask("state"));
      fold();
      show();
    } catch { /* said when something is sent */ }
    send();
  }

  // ---- the rest of the plan --------------------------------------------------------------------

  function blocksOf(place, blocks) {
    place.replaceChildren(...blocks.map((block) => {
      if (block.rows) {
        const table = make("table");
        table.append(...block.rows.map((row, n) => {
          const line = make("tr");
          line.append(...row.map((text) => make(n ? "td" : "th", text, n ? {} : { scope: "col" })));
          return line;
        }));
        return table;
      }
      return make(block.heading ? "h3" : "p", block.text);
    }));
  }

  async function planRest() {
    $("menu-dialog").close();
    $("rest-text").replaceChildren();
    $("take").hidden = true;
    $("rest-state").textContent = "Planning the rest.";
    $("rest-dialog").showModal();
    try {
      await send();
      let found = await ask("rest", { plan: data.plan });
      while (found.state === "running" && $("rest-dialog").open) {
        $("rest-state").textContent = `Planning the rest. ${found.said}`;
        await new Promise((done) => setTimeout(done, 700));
        found = await ask("rest");
      }
      if (found.state === "failed") {
        $("rest-state").textContent = `No plan. ${found.problems.map(sentence).join(" ")}`;
      } else if (found.state === "done") {
        $("rest-state").textContent = "Nothing has changed yet. This is what changes if you use this plan:";
        blocksOf($("rest-text"), found.blocks[unit]);
        $("take").hidden = false;
      }
    } catch (why) {
      $("rest-state").textContent = why.problems ? `No plan. ${why.problems.map(sentence).join(" ")}` : "The shop’s computer does not answer. Try again.";
    }
  }

  async function take() {
    $("take").hidden = true;
    $("rest-state").textContent = "Writing the packet for the rest.";
    try {
      const answer = await ask("take", { plan: data.plan });
      $("rest-state").textContent = "The newer plan is in force. Finish the boards that are already cut into; then go on with it.";
      taken(answer);
      fold();
      show();
    } catch (why) {
      $("rest-state").textContent = why.problems ? why.problems.map(sentence).join(" ") : "The shop’s computer does not answer. Try again.";
    }
  }

  // ---- start -----------------------------------------------------------------------------------

  async function stayAwake() {
    if (lock || !navigator.wakeLock || document.hidden) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { lock = null; }
  }

  function listen() {
    const on = (id, act, kind = "click") => $(id).addEventListener(kind, act);
    on("done", () => (leftAt(at) ? tick(false) : go(nextOpen())));
    on("all", () => tick(true));
    on("back", () => go(at - 1));
    on("next", () => go(at + 1));
    on("undo", undo);
    on("spoiled", openSpoiled);
    on("spoiled-yes", enterSpoiled);
    on("fewer", () => { $("how-many").value = String(Math.max(1, (Number($("how-many").value) || 2) - 1)); });
    on("one-more", () => { $("how-many").value = String((Number($("how-many").value) || 0) + 1); });
    on("bad", openBad);
    on("bad-yes", enterBad);
    for (const input of document.querySelectorAll("input[name=bad-part]")) input.addEventListener("change", showBad);
    for (const kind of ["pointerdown", "pointermove", "pointerup", "pointercancel"]) on("bad-board", drag, kind);
    for (const id of ["bad-from", "bad-to"]) on(id, typed, "input");
    on("menu", () => { showMenu(); $("menu-dialog").showModal(); });
    on("export", exportTicks);
    on("rest", planRest);
    on("take", take);
    for (const input of document.querySelectorAll("input[name=unit]")) {
      input.checked = input.value === unit;
      input.addEventListener("change", () => { unit = input.value; remember("unit", unit); show(); });
    }
    for (const form of document.querySelectorAll("dialog form")) {
      form.addEventListener("keydown", (event) => {
        if (event.key !== "Enter" || event.target.tagName !== "INPUT") return;
        event.preventDefault();
        form.querySelector("button.main").click();
      });
    }
    document.addEventListener("keydown", (event) => {
      if (event.target.tagName === "INPUT" || document.querySelector("dialog[open]")) return;
      if (event.key === "ArrowLeft" && at > 0) go(at - 1);
      if (event.key === "ArrowRight" && at < data.steps.length - 1) go(at + 1);
    });
    document.addEventListener("pointerdown", stayAwake);
    document.addEventListener("visibilitychange", () => { stayAwake(); refresh(); });
    window.addEventListener("resize", show);
    window.addEventListener("online", () => { wait = 1000; send(); });
    window.addEventListener("storage", () => { readQueue(); fold(); show(); });
  }

  async function start() {
    openStorage();
    if (inside) {
      data = JSON.parse(inside.textContent);
    } else {
      try {
        data = await ask("data");
        taken(await ask("state"));
      } catch (why) {
        alertOf("start", why.problems && why.problems.length ? why.problems.map(sentence).join(" ") : "The shop’s computer does not answer.", "Try again", () => window.location.reload());
        return;
      }
    }
    layouts = new Map(data.layouts.map((layout) => [layout.number, layout]));
    unit = (storage && storage.getItem("woodshop-saw unit")) === "mm" ? "mm" : (storage && storage.getItem("woodshop-saw unit")) || data.unit;
    $("batch").textContent = data.batch;
    document.title = `At the saw: ${data.batch}`;
    if (data.do_not_cut) alertOf("stop", "DO NOT CUT. The design has errors.");
    if (!storage) alertOf("not-kept", inside ? "This browser does not keep ticks for this page. They are gone when you close it. Save them to a file first: More." : "This browser keeps nothing for this page. Close it only when “All saved” is shown.");
    if (!data.steps.length) { alertOf("stop", "This plan has nothing to cut."); return; }
    readQueue();
    fold();
    const before = storage && storage.getItem(`woodshop-saw at ${data.plan}`);
    at = before !== null && /^[0-9]+$/.test(before) ? Math.min(Number(before), data.steps.length - 1) : 0;
    if (before === null && !leftAt(0)) at = nextOpen();
    listen();
    stayAwake();
    enter([]);
    if (!inside) setInterval(refresh, 20000);
  }

  start();
})();
