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
  let isAtStop = false; // the page shows the stop after step `at`, before the first article is measured
  let working = 0;
  let server = []; // rows that the server has entered, in the order of the book
  let plans = { newer: "", older: "", numbers: [], squared: {}, made: {} }; // what the server says of the other plans
  let replaced = false; // a newer plan is in force: only boards that are begun are finished here
  let queue = []; // rows of this browser: {n, row}; on a served page those that are not yet acknowledged
  let storage = null; // the second copy: a browser may write it late, and read an older state after a reload
  let database = null; // has a row on the disk before the page says that it is done
  const mine = new Map(); // rows entered here since the page was opened, by id
  const gone = new Set(); // ids of rows that are no longer kept
  const views = new Map(); // what is remembered of the view, by name
  let entering = Promise.resolve(); // entries wait for one another
  let toEnter = 0; // entries that wait or are being kept
  let toKeep = 0; // rows of the user among them
  let sending = false;
  let wait = 1000;
  let lock = null;
  let problems = new Map(); // of rows that the server has refused, by id
  let latest = ""; // what was entered last, until the step changes
  let deadUntil = 0; // a tap before then was meant for what the button said before
  let counted = { place: "", cuts: 0 }; // cuts of the board in hand, a help for the memory only
  const DEAD_TIME = 700; // milliseconds

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

  function openDatabase() {
    return new Promise((done) => {
      const end = (found) => { database = found; done(); };
      try {
        const asked = window.indexedDB.open("woodshop-saw", 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore("kept", { keyPath: "key" });
        asked.onsuccess = () => { asked.result.onclose = () => { database = null; }; end(asked.result); };
        asked.onerror = asked.onblocked = () => end(null);
        setTimeout(() => { if (!database) end(null); }, 10000);
      } catch {
        end(null);
      }
    });
  }

  const isKept = () => Boolean(storage || database);

  // Ends when the changes are on the disk.
  function write(change) {
    return new Promise((done) => {
      const fail = () => { database = null; done(); };
      if (!database) { done(); return; }
      try {
        const written = database.transaction("kept", "readwrite", { durability: "strict" });
        written.oncomplete = done;
        written.onabort = written.onerror = fail;
        change(written.objectStore("kept"));
      } catch {
        fail();
      }
    });
  }

  // What the database has under keys that begin like this.
  function read(prefixed) {
    return new Promise((done) => {
      const fail = () => { database = null; done([]); };
      if (!database) { done([]); return; }
      try {
        const asked = database.transaction("kept").objectStore("kept").getAll(IDBKeyRange.bound(prefixed, `${prefixed}\uffff`));
        asked.onsuccess = () => done(asked.result);
        asked.onerror = fail;
      } catch {
        fail();
      }
    });
  }

  function readStorage() {
    const found = [];
    for (let n = 0; storage && n < storage.length; n++) {
      const key = storage.key(n);
      if (!key.startsWith(`${prefix()}row `)) continue;
      try {
        found.push(JSON.parse(storage.getItem(key)));
      } catch { /* not a row of ours */ }
    }
    return found;
  }

  // A row that is in either place counts.
  async function readQueue() {
    const kept = await read(`row ${data.plan} `);
    const found = new Map();
    for (const each of [...readStorage(), ...kept, ...mine.values()]) {
      if (each && Number.isInteger(each.n) && each.row && typeof each.row.id === "string" && !gone.has(each.row.id)) found.set(each.row.id, { n: each.n, row: each.row });
    }
    queue = [...found.values()].sort((a, b) => a.n - b.n || (a.row.id < b.row.id ? -1 : 1));
  }

  async function keep(own) {
    if (!own.length) return;
    await readQueue();
    const last = Math.max(0, ...queue.map((each) => each.n));
    const kept = own.map((row, n) => ({ n: last + 1 + n, row }));
    try {
      for (const each of kept) if (storage) storage.setItem(`${prefix()}row ${each.row.id}`, JSON.stringify(each));
    } catch {
      storage = null;
    }
    await write((to) => { for (const each of kept) to.put({ key: `row ${data.plan} ${each.row.id}`, ...each }); });
    for (const each of kept) mine.set(each.row.id, each);
    await readQueue();
  }

  function drop(id) {
    gone.add(id);
    queue = queue.filter((each) => each.row.id !== id);
    if (storage) storage.removeItem(`${prefix()}row ${id}`);
    write((to) => to.delete(`row ${data.plan} ${id}`));
  }

  function remember(name, value) {
    views.set(name, value);
    try { if (storage) storage.setItem(`woodshop-saw ${name}`, value); } catch { /* a view, not a tick */ }
    write((to) => to.put({ key: `view ${name}`, value }));
  }

  const remembered = (name) => (views.has(name) ? views.get(name) : storage ? storage.getItem(`woodshop-saw ${name}`) : null);

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

  let state = { ticked: new Map(), bad: new Map(), badAt: new Map(), spoiled: new Map(), spoiledAt: new Map(), all: [] };

  function fold() {
    const all = rows();
    const now = { ticked: new Map(), bad: new Map(), badAt: new Map(), spoiled: new Map(), spoiledAt: new Map(), all };
    const steps = new Map(data.steps.map((step, n) => [step.key, n]));
    const add = (map, key, count) => map.set(key, (map.get(key) || 0) + count);
    for (const row of standing(all)) {
      if (row.plan !== planId() || !steps.has(row.step)) continue;
      const step = steps.get(row.step);
      if (row.kind === KINDS.cuts) add(now.ticked, `${step} ${row.layout}`, Number(row.times));
      if (row.kind === KINDS.spoiled) {
        add(now.spoiled, row.part, Number(row.count));
        if (!now.spoiledAt.has(step)) now.spoiledAt.set(step, new Map());
        add(now.spoiledAt.get(step), row.part, Number(row.count));
      }
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

  // Ticks on boards that are not bad: one found bad at a later step had this cut.
  function goodTicks(n, layout) {
    const later = stepsOf(data.steps[n].list, layout).filter((each) => each.n > n);
    return Math.max(0, ticked(n, layout) - later.reduce((sum, each) => sum + (state.badAt.get(`${each.n} ${layout}`) || 0), 0));
  }

  const left = (n, board) => Math.max(0, wanted(data.steps[n].list, board) - goodTicks(n, board.layout));
  const aside = (n) => data.steps[n].boards.reduce((sum, board) => sum + (state.bad.get(`${data.steps[n].list} ${board.layout}`) || 0), 0);
  // How a code is put on a board, sheet or roll; pages of older plans do not say it.
  const howMarked = (layout) => layout.how_marked || (data.steps[at].cut_with === "saw" ? "chalked" : "tagged");
  const codeOf = (row) => row.board || (row.reason || "").replace(/^(?:chalked|marked|tagged) /, "");

  // The codes on the boards set aside.
  function codesAt(n) {
    const { list, boards } = data.steps[n];
    const own = standing(state.all).filter((row) => [KINDS.bad, KINDS.unusable].includes(row.kind) && row.plan === planId() && boards.some((board) => board.layout === Number(row.layout)) && data.steps.some((step) => step.key === row.step && step.list === list));
    const codes = own.map(codeOf).filter(Boolean);
    return codes.length ? ` (${howMarked(fixed(boards[0]))} ${codes.join(", ")})` : "";
  }

  const leftAt = (n) => data.steps[n].boards.reduce((sum, board) => sum + left(n, board), 0);
  const boardAt = (n) => data.steps[n].boards.find((board) => left(n, board) > 0) || data.steps[n].boards[0];

  // The earlier steps that this board, or one of these boards, has not had if `times` more are ticked at step n.
  function skipped(n, board, times) {
    return stepsOf(data.steps[n].list, board.layout).filter((each) => each.n < n && left(each.n, each.board) > left(n, board) - times).map((each) => each.n);
  }

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

  // Nothing is shown as done, with `words` if there are any, before it is kept.
  function enter(own, words = "") {
    toEnter += 1;
    toKeep += own.length;
    if (own.length) showSaved();
    const entered = entering.then(async () => {
      try {
        await keep(own);
        fold();
        await keep(derived());
        fold();
      } finally {
        toEnter -= 1;
        toKeep -= own.length;
      }
      if (words) latest = words;
      wake();
      sayIfNotKept();
      show();
      send();
    });
    entering = entered.catch(() => {});
    return entered;
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

  // `below` is the room below the board, for names of pieces that are too small for them.
  function frameOf(svg, layout, high, below = 0) {
    const wide = Math.max(200, svg.clientWidth || svg.parentElement.clientWidth || 320);
    const long = layout.length || 1;
    const across = layout.width || long / 16;
    const tall = Math.max(Math.min(84, high), Math.min(high, (wide - 8) * across / long));
    svg.setAttribute("viewBox", `0 0 ${wide} ${tall + 8 + below}`);
    svg.style.height = `${tall + 8 + below}px`;
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
    let frame = frameOf(svg, layout, high);
    const across = frame.across;
    const letters = [...layout.pieces.map((piece) => [piece[0], piece[1], piece[2], piece[3] || across, piece[4]]), ...layout.kept];
    const sizeOf = ([x, y, long, wide, mark]) => Math.min(22, (frame.y(y) - frame.y(y + wide)) * 0.95, (frame.x(x + long) - frame.x(x)) / (0.62 * mark.length));
    const small = letters.filter((each) => sizeOf(each) < 9);
    if (small.length) frame = frameOf(svg, layout, high, 24);
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
    for (const each of letters) {
      const [x, y, long, wide, mark] = each;
      const size = sizeOf(each);
      if (size < 9) continue;
      const middle = [x + long / 2, y + wide / 2];
      const isOver = taken.some(({ place: [a, b, c, d] }) => middle[0] > a && middle[0] < a + c && middle[1] > b && middle[1] < b + d);
      const text = shape("text", { x: frame.x(middle[0]), y: frame.y(middle[1]), class: isOver ? "over" : "" }, mark);
      text.style.fontSize = `${size}px`;
      svg.append(text);
    }
    nameBelow(svg, frame, small);
    return frame;
  }

  // Below the board, under a bracket: how many small pieces of which letters lie above it, strips most of all.
  function nameBelow(svg, frame, small) {
    const groups = [];
    for (const [x, y, long, , mark] of [...small].sort((a, b) => a[0] - b[0])) {
      const last = groups.find((each) => Math.min(each.to, x + long) - Math.max(each.from, x) > long / 2);
      const group = last || { from: x, to: x + long, low: y, marks: new Map() };
      if (!last) groups.push(group);
      Object.assign(group, { to: Math.max(group.to, x + long), low: Math.min(group.low, y) });
      group.marks.set(mark, (group.marks.get(mark) || 0) + 1);
    }
    for (const { from, to, low, marks } of groups) {
      const [left, right, foot] = [frame.x(from) + 2, frame.x(to) - 2, frame.y(0)];
      const named = (words) => [...marks].map(words).join(", ");
      const texts = [named(([mark, count]) => `${count} ${mark}${nameOf(mark) ? ` ${nameOf(mark)}` : ""}`), named(([mark, count]) => `${count} ${mark}`), [...marks.keys()].join(", ")];
      const text = texts.find((each) => each.length * 8 <= right - left) || "";
      svg.append(shape("path", { class: "reach", d: `M${left} ${foot + 3}V${foot + 7}H${right}V${foot + 3}M${(left + right) / 2} ${foot + 7}V${frame.y(low)}` }));
      const words = shape("text", { x: (left + right) / 2, y: foot + 17 }, text);
      words.style.fontSize = "15px";
      svg.append(words);
    }
  }

  const nameOf = (mark) => (data.parts[mark] || {}).name || ""; // pages of older plans have no names

  // What a board gives, each letter with the name of its part; with its item too where two parts have one name.
  function showGives(gives) {
    const marks = (gives.match(/[A-Z]+/g) || []).filter(nameOf);
    const isShared = (mark) => marks.some((each) => nameOf(each) === nameOf(mark) && data.parts[each].item !== data.parts[mark].item);
    $("gives").replaceChildren(...gives.split(/([A-Z]+)/).flatMap((each) => {
      if (!nameOf(each)) return [each];
      return [`${each} `, make("span", isShared(each) ? `${data.parts[each].item}, ${nameOf(each)}` : nameOf(each))];
    }));
  }

  // The parts of a drawing by their letters, item by item, and what else is drawn.
  function legendOf(layout) {
    const items = new Map();
    for (const mark of [...new Set(layout.pieces.map((piece) => piece[4]))].sort().filter(nameOf)) {
      const { item } = data.parts[mark];
      items.set(item, [...(items.get(item) || []), `${mark} ${nameOf(mark)}`]);
    }
    const kept = [...new Set(layout.kept.map((each) => each[4]))];
    return [
      ...[...items].map(([item, own]) => `${item[0].toUpperCase()}${item.slice(1)}: ${own.join(", ")}.`),
      ...(kept.length ? [`${kept.join(", ")}: offcut${kept.length > 1 ? "s" : ""} to keep.`] : []),
      ...(layout.bad.length ? ["Crossed out: the bad stretch."] : []),
      ...(items.size ? ["Filled: what this step cuts."] : []),
    ].join(" ");
  }

  // A text with a line for each sentence. "12 in. Crosscut" ends one; "304.8 mm" does not.
  const sentences = (text) => text.replace(/\. (?=[A-Z])/g, ".\n").split("\n").filter(Boolean).map((each) => each[0].toUpperCase() + each.slice(1));

  function lines(place, texts) {
    place.replaceChildren(...texts.map((text) => (typeof text === "string" ? make("p", text) : text)));
  }

  // A text, then a command, which is broken only between its words.
  function withCommand(text, words) {
    const line = make("p", `${text} `);
    const code = make("code");
    for (const word of words) code.append(make("span", word), " ");
    line.append(code);
    return line;
  }

  function say(text) {
    latest = text;
    $("latest").textContent = text;
  }

  function pause() {
    deadUntil = performance.now() + DEAD_TIME;
    for (const id of ["done", "all", "undo"]) $(id).setAttribute("aria-disabled", "true");
    setTimeout(wake, DEAD_TIME);
  }

  const isDead = () => toEnter > 0 || performance.now() + 20 < deadUntil;

  function wake() {
    if (isDead()) return;
    for (const id of ["done", "all", "undo"]) $(id).removeAttribute("aria-disabled");
  }

  // A question, or something to be read before going on. Choices are pairs: the words, and what to do.
  function question(title, texts, choices, otherwise) {
    $("ask-title").textContent = title;
    lines($("ask-text"), texts);
    const buttons = choices.map(([words, act], n) => {
      const button = make("button", words, { type: "button", class: n ? "" : "main" });
      button.addEventListener("click", () => { $("ask-dialog").close(); act(); });
      return button;
    });
    $("ask-choices").replaceChildren(...buttons, make("button", otherwise, { value: "no", class: buttons.length ? "" : "main" }));
    if (!$("ask-dialog").open) $("ask-dialog").showModal();
  }

  // The number is as large as the room allows with the drawing and the limits below it. Where the buttons are beside it,
  // the limits and what the board gives are above them, as far as the cautions leave room there.
  function fit() {
    const box = $("set-box"), step = $("step"), limits = $("limits"), gives = $("gives-line");
    const isBeside = $("buttons").getBoundingClientRect().left > step.getBoundingClientRect().left;
    const isFull = () => !isBeside || $("words").scrollHeight > $("words").clientHeight + 1;
    if (isBeside) $("words").prepend(gives, limits);
    if (isFull()) $("figure").after(limits);
    if (isFull()) $("more").after(gives);
    box.style.fontSize = "24px"; // so that a size for a wider screen does not widen the place that is measured
    const room = $("set").clientWidth - 24;
    const last = isBeside || !limits.childElementCount ? $("figure") : limits;
    const used = last.getBoundingClientRect().bottom - step.getBoundingClientRect().top + step.scrollTop;
    const most = Math.max(56, step.clientHeight * 0.2, Math.min(step.clientHeight - used + 16, 320));
    box.style.fontSize = "100px";
    const size = Math.min(most, 98 * room / Math.max(1, $("set-to").offsetWidth + $("set-unit").offsetWidth + 16));
    box.style.fontSize = `${Math.max(24, size)}px`;
    const over = box.getBoundingClientRect().bottom - step.getBoundingClientRect().bottom + step.scrollTop; // on a small phone, while one looks ahead
    if (over > 0) box.style.fontSize = `${Math.max(40, size - over)}px`;
    canScroll();
  }

  function canScroll() {
    for (const each of [$("step"), $("words"), $("limits"), $("latest")]) {
      if (each.scrollHeight > each.clientHeight + 1) each.setAttribute("tabindex", "0"); // so that the keyboard can scroll it
      else each.removeAttribute("tabindex");
    }
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
    if (stopStep() !== at) isAtStop = false;
    $("work").hidden = $("buttons").hidden = false;
    $("work").classList.toggle("stopped", isAtStop);
    $("stop-text").hidden = !isAtStop;
    if (isAtStop) { showStop(); return; }
    const list = data.lists[step.list];
    const board = boardAt(at);
    const layout = fixed(board);
    const rest = leftAt(at);
    const form = layout.form;
    const isAlone = step.boards.length === 1 && step.boards[0].times === 1;
    const isSawn = step.cut_with === "saw";
    const wants = sentences(step.sight[unit].join(" "));
    $("rule-stop").textContent = isSawn ? "Blade stopped? Then press Done." : "Cut made? Then press Done.";
    $("rule-eyes").hidden = !isSawn;
    $("rule-gloves").textContent = isSawn ? "No gloves at the saw." : wants.join(" ");
    for (const id of ["rule-manual", "manual"]) $(id).hidden = !isSawn;
    alertOf("looking", at === working ? "" : `Only looking ${at > working ? "ahead" : "back"}.`, `Back to step ${working + 1}`, () => go(working));
    const open = rest ? skipped(at, board, 1) : [];
    const isNew = isFirst(at, board.layout);
    lines($("sight"), [
      ...open.slice(0, 1).map((n) => `Step ${n + 1} on this ${form} is not done.`),
      ...(isNew && layout.first && rest ? [layout.first] : []),
      ...(isSawn ? wants : []),
    ]);
    $("latest").textContent = latest;
    $("count").textContent = `Step ${at + 1} of ${data.steps.length}.`;
    $("still").textContent = String(rest);
    $("still-name").textContent = `${form}${rest === 1 ? "" : "s"} left.`;
    $("where").textContent = `${list.title}: ${list.spoken[unit]}.`;
    const [done, all] = piecesOf(list.material);
    $("pieces").textContent = `${done} of ${all}`;
    $("pieces-name").textContent = plans.made[list.material] ? `good pieces. Made so far on all plans: ${done + plans.made[list.material]}.` : "good pieces.";
    $("deed").textContent = step.deed;
    $("set").hidden = !step.is_cut;
    const [first, ...others] = step.to[unit].split(", ");
    $("set-name").textContent = step.set;
    const [, number, side = ""] = /^(.*?)( off| left)?$/.exec(first);
    $("set-to").textContent = step.is_length ? number : first;
    $("set-unit").textContent = step.is_length ? `${unit}${side}` : "";
    $("set-rest").textContent = [others.join(", "), typeof step.how === "string" ? step.how : step.how[unit]].filter(Boolean).join(". ");
    $("set-rest").classList.toggle("long", $("set-rest").textContent.length > 80);
    const boards = step.boards.reduce((sum, each) => sum + each.times, 0);
    $("more").textContent = boards > 1 ? step.more[unit].replace(/ (times|once|twice)\./g, ` $1 for all ${boards} ${form}s.`) : step.more[unit];
    const seen = new Set([...wants, ...sentences($("rule-manual").textContent.replace("’", "'"))]);
    $("cautions").replaceChildren(...[...step.cautions[unit], ...(step.saw || [])].map(([lead, text]) => [lead, sentences(text).filter((each) => !seen.has(each))]).filter(([, own]) => own.length).map(([lead, own]) => {
      const box = make("div");
      box.append(make("p", lead), ...own.map((each) => make("p", each)));
      return box;
    }));
    $("board-title").textContent = `Layout ${layout.number}${board.times > 1 ? `, ${form} ${inHand(at, board)} of ${board.times}` : ""}: ${layout.what}, ${layout.size[unit]}`;
    showLoose(step, board, rest);
    lines($("limits"), rest && (isNew || isBadAhead(at, board)) ? [...limitsOf(at, board), ...(isNew && isSawn ? [`Chalk ${layout.number} near ${/^Square one end/.test(step.deed) ? "its other end, not the one you square" : "the end that is cut last"}.`] : [])] : []);
    showCuts();
    const marks = Object.keys(step.marks[layout.number] || {});
    const spoiled = marks.filter((mark) => state.spoiled.get(mark)).map((mark) => `${state.spoiled.get(mark)} ${mark}`);
    $("gives-line").hidden = !board.gives;
    $("gives-name").textContent = `This ${form} gives`;
    showGives(board.gives);
    $("legend").textContent = legendOf(layout);
    const [asked, answer] = step.without || []; // pages of older plans have none
    $("without").replaceChildren(...(asked ? [make("strong", asked), ` ${answer}`] : []));
    $("gives-more").textContent = (marks.length ? "Write the letter on each piece." : (((step.loose || {})[layout.number] || {}).gives || []).length ? "" : "Cut further at a later step: no letter yet.") + (spoiled.length ? ` Spoiled so far: ${spoiled.join(", ")}.` : "");
    const away = aside(at);
    $("stamp").hidden = rest > 0 && !away;
    const isLast = at === data.steps.length - 1;
    const isOver = data.steps.every((_, n) => leftAt(n) === 0);
    const isAway = away > 0 && step.boards.every((each) => wanted(step.list, each) === 0);
    $("stamp").textContent = [
      away ? `Set aside: ${away} ${form}${away === 1 ? "" : "s"}${codesAt(at)}.` : "",
      rest || isAway ? "" : isOver ? overWords() : `All ${form}s at this setting are done.`,
    ].filter(Boolean).join(" ");
    $("done").textContent = rest ? (rest > 1 && !isAlone ? `Done: 1 ${form}` : "Done") : isOver ? "Every board is cut" : isLast ? "Next open step" : "Next step";
    $("done").disabled = !rest && isOver;
    showNewer();
    if (replaced && isOver) {
      $("done").textContent = "Go to the newer plan";
      $("done").disabled = false;
    }
    $("all").textContent = rest > 1 ? `Done: all ${rest}` : "Done: all";
    $("all").disabled = rest < 2;
    $("back").disabled = at === 0;
    $("next").disabled = isLast && stopStep() !== at;
    $("undo").disabled = !lastOwn();
    $("bad").disabled = rest === 0;
    $("bad").textContent = `Bad ${form}`;
    drawBoard($("board"), layout, board, window.innerHeight > 700 ? window.innerHeight * 0.2 : 68);
    fit();
    showSaved();
    if ($("menu-dialog").open) showMenu();
  }

  const inHand = (n, board) => Math.min(board.times, ticked(n, board.layout) + 1);

  const cutsOf = (board) => board.cuts.reduce((sum, [, places]) => sum + places.length, 0);

  function showCuts() {
    const step = data.steps[at];
    const board = boardAt(at);
    const all = cutsOf(board);
    $("cuts").hidden = !step.is_cut || all < 2 || !left(at, board);
    const place = `${step.key} ${board.layout} ${inHand(at, board)}`;
    if (counted.place !== place) {
      const kept = (remembered(`cuts ${data.plan}`) || "").split(" is ");
      counted = { place, cuts: kept[0] === place ? Math.min(all, Number(kept[1]) || 0) : 0 };
    }
    $("cuts-text").textContent = counted.cuts ? `${counted.cuts} of ${all} cuts` : `${all} cuts on this ${fixed(board).form}`;
    $("cut-made").disabled = counted.cuts >= all;
  }

  function countCut() {
    counted.cuts += 1;
    remember(`cuts ${data.plan}`, `${counted.place} is ${counted.cuts}`);
    showCuts();
  }

  function isFirst(n, layout) {
    return stepsOf(data.steps[n].list, layout)[0].n === n;
  }

  // What a board in hand must measure, and what to know of it. Once it is cut into, its first length no longer counts.
  function limitsOf(n, board) {
    const layout = fixed(board);
    if (isFirst(n, board.layout)) {
      const count = plans.squared[board.layout];
      const same = standing(state.all).filter((row) => row.id.startsWith(`${planId()}-squared-${board.layout}`) && Number(row.layout) === board.layout).reduce((sum, row) => sum + Number(row.times), 0);
      const off = `${data.steps[n].to[unit].replace(/ off$/, "")} ${unit}`;
      const [sizes = "", ...others] = sentences(layout.notes[unit]);
      return [
        ...others, // first what a small screen must not hide: which board, its bad stretch, and if it is squared
        ...(same ? [`${same} chalked ${board.layout} ${same === 1 ? "is" : "are"} squared already, on the earlier plan, and ticked here.`] : []),
        ...(count ? [`${count} ${layout.form}${count === 1 ? "" : "s"} of this size ${count === 1 ? "is" : "are"} squared already, on an earlier plan. Do not square ${count === 1 ? "it" : "these"} again: cross the old number out, chalk the new one, and press Done. ${count === 1 ? "It" : "They"} may be ${off} shorter than the length stated.`] : []),
        ...(inside && data.is_rest && !layout.code && /^Square one end/.test(data.steps[n].deed) ? [`This file does not know what was squared on the earlier plan. If an end is squared already, do not square it again: press Done. The ${layout.form} may then be ${off} shorter than the length stated.`] : []),
        ...[sizes].filter(Boolean),
      ];
    }
    const isWhole = !stepsOf(data.steps[n].list, board.layout).some((each) => each.n < n && each.board.cuts.some(([along, places]) => !along && places.some(([x0]) => x0 > 0)));
    if (isWhole && layout.when_squared) return sentences(layout.when_squared[unit]);
    return ["A bad stretch is still in it: the crossed part of the drawing. Cut it off before any rip."];
  }

  // The lengths cut off earlier that this step works on, instead of the whole board; and what to write on new ones.
  function showLoose(step, board, rest) {
    const { gives = [], of = [] } = (step.loose || {})[board.layout] || {};
    const layout = fixed(board);
    const named = (each) => each.map(([name, size]) => `${name}, ${size[unit]}`).join("; ");
    if (of.length) $("board-title").textContent = `Length${of.length > 1 ? "s" : ""} cut off earlier: ${named(of)}. From layout ${layout.number}${board.times > 1 ? `, ${layout.form} ${inHand(at, board)} of ${board.times}` : ""}: ${layout.what}`;
    lines($("loose"), rest && gives.length ? [`As it comes off, write on each length: ${named(gives)}.`] : []);
  }

  // Whether this or a later step cuts off a bad stretch of the board.
  function isBadAhead(n, board) {
    const over = ([x0, x1]) => fixed(board).bad.some(([x, , long]) => x0 < x + long && x < x1);
    return stepsOf(data.steps[n].list, board.layout).some((each) => each.n >= n && each.board.is_trim && each.board.cuts.some(([along, places]) => !along && places.some(over)));
  }

  // Pieces with this letter that are ticked, good or not.
  function cutOf(mark) {
    let sum = 0;
    data.steps.forEach((step, n) => {
      for (const board of step.boards) sum += ((step.marks[board.layout] || {})[mark] || 0) * Math.min(ticked(n, board.layout), board.times);
    });
    return sum;
  }

  function piecesOf(material) {
    let good = 0, all = 0;
    for (const [mark, part] of Object.entries(data.parts)) {
      if (part.material === material) good += Math.max(0, cutOf(mark) - (state.spoiled.get(mark) || 0));
    }
    for (const step of data.steps) {
      if (data.lists[step.list].material === material) all += step.pieces;
    }
    return [good, all];
  }

  // The boards of this plan that are not cut into.
  function uncut() {
    const found = new Map();
    data.lists.forEach((_, list) => {
      for (const number of layouts.keys()) {
        const own = stepsOf(list, number);
        const count = own.length ? own[0].board.times - (state.bad.get(`${list} ${number}`) || 0) - begun(list, number) : 0;
        if (count > 0) found.set(number, (found.get(number) || 0) + count);
      }
    });
    return found;
  }

  function uncutWords() {
    const found = uncut();
    const sum = [...found.values()].reduce((a, b) => a + b, 0);
    if (!sum) return "";
    const forms = new Set([...found.keys()].map((number) => layouts.get(number).form));
    const what = forms.size > 1 ? "boards, sheets and rolls" : `${[...forms][0]}${sum === 1 ? "" : "s"}`;
    return `${sum} ${what} of this plan ${sum === 1 ? "is" : "are"} not cut into: ${sum === 1 ? "it goes" : "they go"} on in the newer plan.`;
  }

  const overWords = () => (replaced && uncutWords() ? `Nothing is left to finish here. ${uncutWords()}` : "Every board is cut.");

  function showNewer() {
    if (!replaced) { alertOf("newer"); return; }
    const stay = [...uncut().keys()].filter((number) => layouts.get(number).form === "board" && plans.numbers.includes(number)).sort((a, b) => a - b);
    const runs = stay.reduce((found, number) => {
      const last = found[found.length - 1];
      if (last && last[1] === number - 1) last[1] = number;
      else found.push([number, number]);
      return found;
    }, []);
    const chalked = stay.length
      ? `Boards chalked ${runs.map(([low, high]) => (low === high ? low : `${low}${high > low + 1 ? " to " : ", "}${high}`)).join(", ")} keep that number. On any other board, cross the number out, and chalk the one that the newer plan says.`
      : "On boards chalked already, cross the number out, and chalk the one that the newer plan says.";
    const words = ["A newer plan is in force. Here, finish only the boards that are already cut into.", ...(uncutWords() ? [uncutWords(), chalked] : [])].join(" ");
    if ($("newer") && $("newer").firstChild.textContent === words) return;
    alertOf("newer", words, "Go to the newer plan", () => { window.location.assign(plans.newer); });
  }

  const isDerived = (row) => row.id.startsWith(`${planId()}-layout-`);

  function unsaved() {
    const saved = new Set((remembered(`saved ${data.plan}`) || "").split(" "));
    return queue.filter(({ row }) => !isDerived(row) && !problems.has(row.id) && !(inside && saved.has(row.id))).length;
  }

  function showSaved() {
    const place = $("saved");
    const open = unsaved();
    place.classList.toggle("waiting", toKeep > 0 || (inside ? !isKept() : open > 0));
    const entries = `${open} ${open === 1 ? "entry" : "entries"}`;
    if (toKeep) place.textContent = "Saving …";
    else if (inside) place.textContent = !isKept() ? "Not kept" : open ? `Not yet saved to a file: ${entries}` : queue.length ? "All entries are saved to a file" : "Nothing entered yet";
    else place.textContent = open ? `Not yet saved: ${entries}` : "All saved";
  }

  function alertOf(id, text, action, act) {
    let box = $(id);
    if (!text) { if (box) box.remove(); return; }
    if (!box) {
      box = make("div", undefined, { id, class: "alert", role: "alert" });
      $(data && id !== "stop" && id !== "looking" ? "notices" : "alerts").append(box); // below the number, unless nothing must be cut
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
      ? (isKept() ? "Ticks are kept in this browser, on this device. Clearing the browser’s data removes them: save them to a file first." : "This browser does not keep ticks for this page. They are gone when you close it: save them to a file first.")
      : (isKept() ? "Ticks go to the shop’s book: the record on the shop’s computer. Until the book has them, this browser keeps them." : "This browser keeps nothing for this page. Close it only when “All saved” is shown.");
    $("awake").textContent = lock ? "The screen stays on." : "This browser may let the screen go dark. Set the screen to stay on in the device’s settings.";
    lines($("import-help"), inside ? whereSaved() : []);
    const kinds = [KINDS.cuts, KINDS.spoiled, KINDS.bad, KINDS.unusable];
    const own = standing(state.all).filter((row) => kinds.includes(row.kind) && row.plan === planId());
    $("entries-name").textContent = `Entries: ${own.length}`;
    $("entries").replaceChildren(...own.reverse().map((row) => make("li", described(row))));
    $("rest").hidden = Boolean(inside) || replaced || Boolean(data.has_no_rest);
    $("to-design").hidden = Boolean(inside);
    if (!inside) $("to-design").href = `/design/${location.pathname.split("/")[2]}`;
    const list = data.lists[data.steps[at].list];
    paragraphs($("notes"), list.notes[unit]);
    if (list.notes[unit].length) $("notes").prepend(make("h3", `${list.title}: ${list.spoken[unit]}`));
    $("steps").replaceChildren(...data.steps.flatMap((step, n) => {
      const to = step.is_cut ? `, ${step.to[unit]}` : "";
      const item = make("li");
      const button = make("button", `${n + 1}. ${step.deed}${to}: ${standOf(n)} `, { type: "button" });
      const given = step.boards.map((board) => `layout ${board.layout}${board.gives ? `: ${board.gives}` : ""}`);
      button.append(make("small", given.join("; ")));
      if (n === at && !isAtStop) button.setAttribute("aria-current", "step");
      button.addEventListener("click", () => { $("menu-dialog").close(); go(n); $("deed").focus({ preventScroll: true }); });
      item.append(button);
      return n === stopStep() ? [item, stopItem()] : [item];
    }));
  }

  function stopItem() {
    const item = make("li");
    const button = make("button", `Stop sawing: first article${isMeasured() ? ", measured and in limits" : ""}`, { type: "button" });
    if (isAtStop) button.setAttribute("aria-current", "step");
    button.addEventListener("click", () => { $("menu-dialog").close(); lookAtStop(); $("deed").focus({ preventScroll: true }); });
    item.append(button);
    return item;
  }

  function standOf(n) {
    const rest = leftAt(n);
    const away = aside(n);
    const isAway = away > 0 && data.steps[n].boards.every((board) => wanted(data.steps[n].list, board) === 0);
    const spoiled = [...(state.spoiledAt.get(n) || [])].map(([mark, count]) => `${count} ${mark} spoiled`);
    return [rest ? `${rest} ${fixed(boardAt(n)).form}${rest === 1 ? "" : "s"} to do` : isAway ? "" : "done", away ? `${away} set aside as bad` : "", ...spoiled].filter(Boolean).join(", ");
  }

  // ---- the first article -----------------------------------------------------------------------

  const FIRST = "First boards";
  const isFirstBoard = (n) => data.lists[data.steps[n].list].title === FIRST;

  // The step after which the page stops until the first article is measured, or -1; pages of older plans do not stop.
  function stopStep() {
    if (!data.first_article || replaced) return -1;
    const last = data.steps.map((_, n) => isFirstBoard(n)).lastIndexOf(true);
    return last < data.steps.length - 1 ? last : -1;
  }

  const isMeasured = () => remembered(`first article ${data.plan}`) === "measured";

  // Whether a step waits for the first article: it cuts more boards of a material whose first boards were cut before.
  function isHeld(n) {
    const stop = stopStep();
    if (stop < 0 || n <= stop || isMeasured()) return false;
    const { material } = data.lists[data.steps[n].list];
    return data.lists.some((list) => list.title === FIRST && list.material === material);
  }

  const isBehindStop = (from, to) => stopStep() >= 0 && !isMeasured() && to > stopStep() && (from <= stopStep() || isHeld(to));

  function lookAtStop() {
    if (stopStep() < 0) return;
    stepTo(stopStep());
    isAtStop = true;
    shown();
  }

  function passStop() {
    remember(`first article ${data.plan}`, "measured");
    isAtStop = false;
    goOn();
  }

  const WITHIN = "Cut the rest only when every size is within its limits.";

  function buildFirst() {
    const page = data.first_article.page ? `, page ${data.first_article.page}` : "";
    return `Build the first article of each item and try it in its hive (packet, chapter First article${page}).`;
  }

  // What the page says at the stop. Other material is not cut in first boards, so its pieces are cut at their own steps.
  function stopTexts() {
    const stop = stopStep();
    const open = data.steps.flatMap((_, n) => (n <= stop && isFirstBoard(n) && leftAt(n) ? [n + 1] : []));
    const firsts = new Set(data.lists.filter((list) => list.title === FIRST).map((list) => list.material));
    const others = [...new Set(data.lists.filter((list) => !firsts.has(list.material)).map((list) => list.spoken[unit]))];
    return [
      ...(open.length ? [open.length > 1 ? `${open.length} steps of the first boards are not done. The next one is step ${open[0]}.` : `Step ${open[0]} of the first boards is not done.`] : []),
      buildFirst(),
      WITHIN,
      ...(others.length ? [`The first article may also need ${others.join(", ")}. Cut ${others.length > 1 ? "these" : "this"} at ${others.length > 1 ? "their steps" : "its steps"}: More, Steps.`] : []),
    ];
  }

  function showStop() {
    const isPassed = isMeasured();
    alertOf("looking", at === working ? "" : `Only looking ${at > working ? "ahead" : "back"}.`, `Back to step ${working + 1}`, () => go(working));
    $("count").textContent = `After step ${at + 1} of ${data.steps.length}.`;
    $("deed").textContent = "Stop sawing.";
    lines($("stop-text"), stopTexts());
    for (const id of ["sight", "limits"]) $(id).replaceChildren();
    $("gives-line").hidden = true; // it may be beside the buttons
    $("latest").textContent = latest;
    $("stamp").hidden = !isPassed;
    $("stamp").textContent = "Measured and in limits.";
    $("done").textContent = isPassed ? "Next step" : "Measured and in limits: go on";
    $("done").disabled = false;
    $("all").textContent = "Done: all";
    $("all").disabled = $("bad").disabled = true;
    $("back").disabled = $("next").disabled = false;
    $("undo").disabled = !lastOwn();
    canScroll();
    showSaved();
    if ($("menu-dialog").open) showMenu();
  }

  const stepTo = (n) => { at = Math.max(0, Math.min(data.steps.length - 1, n)); };

  // The step that is worked at; any other that is shown is only looked at.
  function work(n) {
    isAtStop = false;
    stepTo(n);
    working = at;
    remember(`at ${data.plan}`, String(at));
  }

  function go(n) {
    isAtStop = false;
    stepTo(n);
    shown();
  }

  // One screen back or ahead. The stop is a screen of its own between two steps.
  function look(by) {
    if (by > 0 ? !isAtStop && at === stopStep() : !isAtStop && at === stopStep() + 1 && stopStep() >= 0) {
      lookAtStop();
    } else if (isAtStop && by < 0) go(at);
    else if (at + by >= 0 && at + by < data.steps.length) go(at + by);
  }

  function shown() {
    say("");
    pause();
    show();
    window.scrollTo(0, 0);
    $("step").scrollTop = 0;
    if (document.activeElement === document.body) $("done").focus({ preventScroll: true });
  }

  function nextOpen() {
    for (let n = 1; n <= data.steps.length; n++) {
      const to = (at + n) % data.steps.length;
      if (leftAt(to)) return to;
    }
    return at;
  }

  // Leads to the next open step, and says why steps between are left out.
  function goOn() {
    const from = at;
    const to = nextOpen();
    if (isBehindStop(from, to)) {
      work(stopStep());
      lookAtStop();
      say("Stop sawing. Measure the first article.");
      return;
    }
    work(to);
    go(at);
    const between = [];
    for (let n = from + 1; n < at; n++) between.push(n + 1);
    if (!between.length) return;
    const isAway = between.some((n) => aside(n - 1));
    say(`Step${between.length > 1 ? `s ${between[0]} to ${at}` : ` ${at}`} left out: ${isAway ? "done, or the board is set aside" : "done already"}.`);
  }

  // ---- ticking ---------------------------------------------------------------------------------

  const base = (kind, id) => ({ kind, day: today(), id, batch: data.batch, plan: planId(), step: data.steps[at].key });

  async function tick(isAll, isInOrder = false, isSure = false, isFor = false) {
    if (isHeld(at) && !isFor) {
      question("The first article is not measured", [buildFirst(), WITHIN], [["Go to “Stop sawing”", lookAtStop], ["This is for the first article: tick it", () => tick(isAll, isInOrder, isSure, true)]], "Cancel");
      return;
    }
    const step = data.steps[at];
    const boards = isAll ? step.boards.filter((board) => left(at, board)) : [boardAt(at)];
    const times = boards.map((board) => (isAll ? left(at, board) : 1));
    const open = [...new Set(boards.flatMap((board, n) => skipped(at, board, times[n])))].sort((a, b) => a - b);
    if (open.length && !isInOrder) {
      const texts = open.slice(0, 4).map((n) => `Step ${n + 1} on ${boards.length > 1 ? "these boards" : "this board"} is not done: ${data.steps[n].deed}${data.steps[n].is_cut ? `, ${data.steps[n].to[unit]}` : ""}.`);
      if (open.length > 4) texts.push(`${open.length - 4} more steps are not done.`);
      question("An earlier cut is not done", texts, [[`Go to step ${open[0] + 1}`, () => { work(open[0]); go(at); }], ["It is cut: tick this step", () => tick(isAll, true, isSure, isFor)]], "Cancel");
      return;
    }
    if (isAll && !isSure) {
      const texts = boards.map((board, n) => `${times[n]} × layout ${board.layout}: ${fixed(board).what}`);
      const sum = times.reduce((a, b) => a + b, 0);
      question(`Are all ${sum} done at this setting?`, texts, [[`Yes: ${sum} done`, () => tick(true, true, true, isFor)]], "No");
      return;
    }
    const all = cutsOf(boards[0]);
    if (!isAll && !isSure && counted.cuts && counted.cuts < all) {
      question(`Only ${counted.cuts} of ${all} cuts are counted`, ["Are all of them made?"], [[`Yes: ${all} cuts made`, () => tick(false, true, true, isFor)]], "No");
      return;
    }
    const before = new Map(boards.map((board) => [board.layout, completed(board.layout)]));
    const words = isAll ? `Done: ${times.reduce((a, b) => a + b, 0)} ${fixed(boards[0]).form}s.` : `Done: layout ${boards[0].layout}, ${fixed(boards[0]).form} ${inHand(at, boards[0])} of ${boards[0].times}.`;
    const id = newId();
    pause();
    work(at);
    await enter(boards.map((board, n) => ({
      ...base(KINDS.cuts, `${id}-${n + 1}`), material: fixed(board).material, layout: board.layout, times: times[n],
    })), words);
    const ended = boards.filter((board) => completed(board.layout) > before.get(board.layout));
    if (ended.length) say(`${words} ${ended.map((board) => ending(board, completed(board.layout) - before.get(board.layout))).join(" ")}`);
  }

  function ending(board, count) {
    const layout = fixed(board);
    const kept = layout.kept.map((each) => each[4]);
    const aside = data.lists.reduce((sum, _, list) => sum + (state.bad.get(`${list} ${layout.number}`) || 0), 0);
    const open = Math.max(0, layout.times - aside - completed(layout.number));
    const pen = data.steps[at].cut_with === "saw" ? "Chalk" : "Write";
    return [
      count > 1 ? `${count} ${layout.form}s of layout ${layout.number} are finished.` : `This ${layout.form} is finished.`,
      kept.length ? `${pen} ${kept.join(", ")} on the offcut${kept.length > 1 ? "s" : ""}, and keep ${kept.length > 1 ? "them" : "it"}.` : `What is left of ${count > 1 ? "them" : "it"} is scrap.`,
      open ? `Still to do of layout ${layout.number}: ${open} ${layout.form}${open === 1 ? "" : "s"}.` : "",
    ].filter(Boolean).join(" ");
  }

  function described(row) {
    const n = data.steps.findIndex((each) => each.key === row.step);
    const form = row.layout && layouts.get(Number(row.layout)) ? layouts.get(Number(row.layout)).form : "board";
    const many = (count) => `${count} ${form}${Number(count) === 1 ? "" : "s"}`;
    const words = row.kind === KINDS.cuts ? `layout ${row.layout}, ${many(row.times)} done${row.id.includes("-squared-") ? " (squared on the earlier plan)" : ""}`
      : row.kind === KINDS.spoiled ? `${row.count} ${row.part} spoiled`
        : row.kind === KINDS.bad ? `layout ${row.layout}, board “${row.board}” set aside, bad from ${row.from} to ${row.to}${row.unit && !/[a-z"]$/.test(String(row.to)) ? ` ${row.unit}` : ""}`
          : `layout ${row.layout}, ${many(row.count)} set aside, unusable${row.reason ? `, ${row.reason}` : ""}`;
    return `Step ${n + 1}: ${words}`;
  }

  // The last thing entered that still counts and is not a consequence of ticks.
  function lastOwn() {
    const kinds = [KINDS.cuts, KINDS.spoiled, KINDS.bad, KINDS.unusable];
    const own = standing(state.all).filter((row) => kinds.includes(row.kind) && row.plan === planId());
    return own[own.length - 1];
  }

  function undo(isSure = false) {
    const last = lastOwn();
    if (!last) return;
    if (last.kind !== KINDS.cuts && !isSure) {
      question("Take this entry back?", [described(last)], [["Take it back", () => undo(true)]], "Keep it");
      return;
    }
    const stem = last.id.replace(/-[0-9]+$/, "");
    const same = standing(state.all).filter((row) => row.id.replace(/-[0-9]+$/, "") === stem && row.kind === last.kind);
    const step = data.steps.findIndex((each) => each.key === last.step);
    if (step >= 0) work(step);
    const sum = same.reduce((total, row) => total + Number(row.times || 0), 0);
    const form = last.layout && layouts.get(Number(last.layout)) ? layouts.get(Number(last.layout)).form : "board";
    const words = last.kind === KINDS.cuts ? `Undone: step ${step + 1}, ${sum} ${form}${sum === 1 ? "" : "s"}.` : `Undone: ${described(last)}.`;
    pause();
    const ids = new Set(state.all.map((row) => row.id));
    enter(same.reverse().map((row) => {
      let turn = 1;
      while (ids.has(`${row.id}-undo-${turn}`)) turn++;
      return { kind: KINDS.undo, id: `${row.id}-undo-${turn}`, of: row.id, reason: "undone at the saw" };
    }), words);
  }

  // How many pieces of each letter this step makes of one board; if it makes none, those that its boards are to give.
  function beingCut() {
    const step = data.steps[at];
    const found = new Map();
    const most = (mark, count) => found.set(mark, Math.max(found.get(mark) || 0, count));
    for (const board of step.boards) {
      for (const [mark, count] of Object.entries(step.marks[board.layout] || {})) most(mark, count);
    }
    if (found.size) return found;
    for (const board of step.boards) {
      const own = new Map();
      for (const piece of fixed(board).pieces) own.set(piece[4], (own.get(piece[4]) || 0) + 1);
      for (const [mark, count] of own) most(mark, count);
    }
    return found;
  }

  const mostSpoiled = (mark) => cutOf(mark) - (state.spoiled.get(mark) || 0) + (leftAt(at) ? beingCut().get(mark) || 0 : 0);

  function openSpoiled() {
    const choice = (mark) => {
      const label = make("label");
      const words = make("span", mark);
      words.append(make("small", [data.parts[mark].item, nameOf(mark), data.parts[mark].size[unit]].filter(Boolean).join(", ")));
      label.append(make("input", undefined, { type: "radio", name: "letter", value: mark }), words);
      return label;
    };
    const here = beingCut();
    const others = Object.keys(data.parts).filter((mark) => !here.has(mark) && mostSpoiled(mark) > 0);
    $("letters").replaceChildren(...Object.keys(data.parts).filter((mark) => here.has(mark)).map(choice));
    $("other-letters").replaceChildren(...others.map(choice));
    $("others").hidden = !others.length;
    $("others").open = isAtStop; // the first article may be of any piece that is cut
    const single = document.querySelectorAll("#letters input");
    if (single.length === 1 && !isAtStop) single[0].checked = true;
    $("how-many").value = "1";
    $("spoiled-wrong").textContent = "";
    $("spoiled-dialog").showModal();
  }

  async function enterSpoiled() {
    const chosen = document.querySelector("input[name=letter]:checked");
    const text = $("how-many").value.trim();
    const wrong = (words) => { $("spoiled-wrong").textContent = words; };
    if (!chosen) { wrong("Which piece? Choose a letter."); return; }
    if (!/^[1-9][0-9]{0,5}$/.test(text)) { wrong("How many: a whole number, 1 or more."); return; }
    const mark = chosen.value;
    const most = mostSpoiled(mark);
    if (Number(text) > most) { wrong(most > 0 ? `At most ${most} ${mark}: no more are cut or being cut.` : `No ${mark} is cut yet.`); return; }
    $("spoiled-dialog").close();
    await enter([{ ...base(KINDS.spoiled, newId()), material: data.parts[mark].material, part: mark, count: Number(text) }]);
    suggestRest(`Entered: ${text} ${mark} spoiled.`, whenSpoiled(mark));
  }

  // Where another piece comes from: in the first boards, for the first article, from a board that comes later.
  function whenSpoiled(mark) {
    const next = isFirstBoard(at) && data.first_article && !replaced ? nextWith(mark) : 0;
    return [
      next ? `For the first article, take the piece from the next board of layout ${next}.` : "",
      data.has_no_rest ? NO_REST : "Go on cutting. What is missing is made when the rest is planned.",
    ].filter(Boolean).join(" ");
  }

  // A layout of the first boards with this letter that has more boards, not yet cut into. This step's come first.
  function nextWith(mark) {
    const own = data.steps[at].boards.map((board) => board.layout);
    const more = [...layouts.values()].filter((layout) => layout.pieces.some((piece) => piece[4] === mark)).map((layout) => layout.number);
    const isMore = (number) => data.lists.some((list, n) => {
      const [found] = list.title === FIRST ? [] : stepsOf(n, number);
      return found && wanted(n, found.board) > begun(n, number);
    });
    const isFirstToo = (number) => data.lists.some((list, n) => list.title === FIRST && stepsOf(n, number).length);
    return [...own.filter((number) => more.includes(number)), ...more].find((number) => isFirstToo(number) && isMore(number)) || 0;
  }

  const NO_REST = "Cut what is missing from an offcut, or buy one more board: this plan has no planned rest.";

  function suggestRest(text, what) {
    say(text);
    if (data.has_no_rest) question("Entered", [text, what], [], "Go on");
    else if (inside) question("Entered", [text, what, "To cut what is missing, save the entries to a file later: More."], [], "Go on");
    else question("Entered", [text, what, "Plan the rest now or later, under More. Nothing changes until you say so."], [["Plan the rest", planRest]], "Go on");
  }

  // Of the signs that look alike in chalk, one each: D for 0 O Q, L for 1 I, 2 for Z, 5 for S, 6 for G, 8 for B, U for V.
  // The second sign is a figure, so that a code is no word, and a spreadsheet reads it neither as a number nor as a date.
  const LETTERS = "ACDEFHJKLMNPRTUWXY", FIGURES = "23456789";

  function newCode() {
    const used = new Set([...chalks.values(), ...state.all.map(codeOf), ...data.layouts.flatMap((layout) => [layout.code, layout.book.board])]);
    const sign = (signs) => signs[crypto.getRandomValues(new Uint32Array(1))[0] % signs.length];
    for (;;) {
      const code = sign(LETTERS) + sign(FIGURES) + sign(LETTERS + FIGURES) + sign(LETTERS + FIGURES);
      if (!used.has(code)) return code;
    }
  }

  // One code for a board: it stays the same until the board is entered.
  function chalkOf(board) {
    const list = data.steps[at].list;
    const name = `chalk ${data.plan} ${list} ${board.layout} ${state.bad.get(`${list} ${board.layout}`) || 0}`;
    const code = chalks.get(name) || remembered(name) || newCode();
    chalks.set(name, code);
    remember(name, code);
    return code;
  }

  const codeOn = (layout, code) => ({
    chalked: `Chalk “${code}” on it, and put it aside.`,
    marked: `Write “${code}” on it with a marker, and put it aside.`,
    tagged: `Write “${code}” on a tag, tie the tag to the ${layout.form}, and put it aside.`,
  })[howMarked(layout)];

  const setAside = (layout, code) => [codeOn(layout, code), data.has_no_rest ? `Cut its pieces from offcuts, or buy one more ${layout.form}: this plan has no planned rest.` : ""].filter(Boolean).join(" ");

  // ---- a bad board -----------------------------------------------------------------------------

  let range = null; // in units of the job
  const chalks = new Map();
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
    const { form } = fixed(boards[0]);
    $("bad-title").textContent = `Bad ${form}`;
    $("bad-end").textContent = data.steps[at].cut_with === "saw" ? "you square first" : "is cut first";
    const how = howMarked(fixed(boards[0]));
    $("bad-code").textContent = `When it is entered, the page gives a code: ${how === "tagged" ? "write it on a tag" : how === "marked" ? "write it on with a marker" : "chalk it on"}.`;
    $("bad-which-name").textContent = `Which ${form}?`;
    $("bad-whole").textContent = `The whole ${form}`;
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
    $("bad-wrong").textContent = "";
    for (const each of document.querySelectorAll(".bad-unit")) each.textContent = unit;
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
      event.preventDefault();
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

  async function enterBad() {
    const board = badBoard();
    const layout = fixed(board);
    const whole = { material: layout.material, layout: board.layout, ...("stock" in layout.book ? layout.book : {}) };
    const code = chalkOf(board);
    if (document.querySelector("input[name=bad-part]:checked").value === "whole") {
      $("bad-dialog").close();
      await enter([{ ...base(KINDS.unusable, newId()), ...whole, count: 1, reason: `${howMarked(layout)} ${code}` }]);
      suggestRest(`Entered: 1 ${layout.form} of layout ${board.layout} is unusable.`, setAside(layout, code));
      return;
    }
    const ends = [readLength($("bad-from").value), readLength($("bad-to").value)];
    const named = ["From", "To"];
    const unread = ends.findIndex((each) => each === null);
    const long = layout.length * mm(layout);
    let wrong = "";
    if (unread >= 0) {
      const given = $(unread ? "bad-to" : "bad-from").value.trim();
      wrong = `${named[unread]}: ${given ? `“${given}” is not a length` : "a length is missing"}. Type one such as ${unit === "mm" ? "560 mm" : "22 1/2 in"}.`;
    } else if (ends[0] >= ends[1]) wrong = "From must be less than To.";
    else if (ends[1] > long + 0.01) wrong = `To: past the end. This ${layout.form} is ${layout.size[unit].split(" x ").pop()} long.`;
    if (wrong) { $("bad-wrong").textContent = wrong; return; }
    $("bad-dialog").close();
    const texts = ["bad-from", "bad-to"].map((id) => $(id).value.trim());
    await enter([{ ...base(KINDS.bad, newId()), ...whole, board: code, from: texts[0], to: texts[1], unit }]);
    suggestRest(`Entered: a bad stretch from ${texts[0]} to ${texts[1]}${/[a-z"]$/.test(texts[1]) ? "" : ` ${unit}`}.`, setAside(layout, code));
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

  const fileName = () => `saw-${data.plan.slice(0, 8)}-ticks.csv`;

  // The files that are meant; pages of older plans do not know their names.
  function whereSaved() {
    const { design, book, from: whence } = data.files || {};
    const forPlanner = make("details");
    forPlanner.append(make("summary", "For whoever made the plan"), ...commands(design, book, whence));
    return [
      `The file is ${fileName()}, in the downloads of this device.`,
      "Send it to whoever made the plan, by cable, memory stick or mail. If you save again, send the newest.",
      forPlanner,
    ];
  }

  function commands(design, book, whence) {
    const toRest = (words) => (data.has_no_rest ? [] : [withCommand("Then plan the rest:", words)]);
    const send = [make("p", "Put the file into the folder where you planned the batch.")];
    if (!book) {
      const own = `[the file of ${whence ? "the book that the batch was planned with" : "the shop’s book"}]`.split(" ");
      const of = design ? [design] : `[the design file of ${data.batch}]`.split(" ");
      return [
        ...send,
        withCommand("In that folder:", ["woodshop", "book", "import", ...own, fileName()]),
        ...toRest(["woodshop", "plan", ...of, "--rest", "--book", ...own]),
        make("p", "Importing it again adds nothing."),
      ];
    }
    const isNew = whence === "ticks";
    return [
      ...send,
      withCommand("In that folder:", ["woodshop", "book", "import", book, fileName(), ...(isNew ? ["--new"] : [])]),
      isNew ? withCommand(`Importing it again adds nothing. If ${book} is there already, leave out`, ["--new"]) : make("p", "Importing it again adds nothing."),
      ...toRest(["woodshop", "plan", design, "--rest", ...(whence === "design" ? [] : ["--book", book])]),
      ...(data.has_no_rest ? [] : [make("p", "The saw page of the rest does not know which boards are squared already. It says so at that step.")]),
      make("p", "Put the folder before a file that is not in this one."),
    ];
  }

  function exportTicks() {
    const blob = new Blob([csv(inside ? queue.map((each) => each.row) : state.all)], { type: "text/csv" });
    const link = make("a", undefined, { href: URL.createObjectURL(blob), download: fileName() });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    if (!inside) return;
    remember(`saved ${data.plan}`, queue.map((each) => each.row.id).join(" "));
    showSaved();
    $("menu-dialog").close();
    question("Saved to a file", whereSaved(), [], "Close");
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
    if (replaced) alertOf("rest-news");
    alertOf("older", answer.older ? "Boards are cut into on the earlier plan. Finish them first." : "", "Go to the earlier plan", () => { window.location.assign(answer.older); });
    plans = { ...plans, ...answer };
  }

  async function send() {
    if (inside || sending) return;
    sending = true;
    await readQueue();
    const known = new Set(server.map((row) => row.id));
    for (const { row } of queue.filter((each) => known.has(each.row.id))) drop(row.id);
    const open = queue.filter((each) => !problems.has(each.row.id)).slice(0, 100);
    if (!open.length) { sending = false; showSaved(); return; }
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
      if (answer.entered.length) {
        enter([]);
        if (rest.state === "done") watchRest();
      }
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
    watchRest();
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

  const silent = (why) => (why.problems ? why.problems.map(sentence).join(" ") : "The shop’s computer does not answer. Try again.");

  function progressText(said) {
    const found = /^(.*), (\d+) of (\d+) done; now (.*)$/.exec(said);
    return found ? `Now: ${found[1]}, ${Number(found[2]) + 1} of ${found[3]} (${found[4]}).` : said ? `Now: ${said}.` : "";
  }

  // What is known of the rest, in the box if it is open, and else in a notice that stays.
  function showRest(found) {
    const isOpen = $("rest-dialog").open;
    const isReady = found.state === "done" && !found.is_old;
    const words = {
      running: "The rest is being planned. This page says when that is done.",
      failed: `No plan of the rest. ${(found.problems || []).map(sentence).join(" ")}`,
      done: isReady ? "The plan of the rest is ready. Nothing has changed yet." : "The plan of the rest is out of date: something was entered since. Plan the rest again.",
    }[found.state];
    const isNew = found.state !== "failed" || isOpen || rest.state === "running";
    alertOf("rest-news", isOpen || replaced || !words || !isNew ? "" : words, isReady || found.state === "running" ? "Look at it" : "Plan the rest", planRest);
    rest = found;
    if (!isOpen) return;
    $("take").hidden = !isReady;
    if (found.state === "running") {
      lines($("rest-state"), [
        `Planning the rest: this can take some minutes. ${progressText(found.said)}`,
        "You may close this box: the page tells you when the plan is ready.",
        "Boards that are cut into stay as they are planned; others may change. If you enter anything before you use the new plan, it must be planned again.",
      ]);
    } else lines($("rest-state"), [isReady ? "Nothing has changed yet. This is what changes if you press “Use this plan”:" : words]);
    if (isReady && !$("rest-text").childElementCount) blocksOf($("rest-text"), found.blocks[unit]);
  }

  let rest = { state: "none" };
  let isWatching = false;

  async function watchRest() {
    if (inside || replaced || isWatching) return;
    isWatching = true;
    try {
      let found = await ask("rest");
      showRest(found);
      while (found.state === "running") {
        await new Promise((done) => setTimeout(done, 700));
        found = await ask("rest");
        showRest(found);
      }
    } catch (why) {
      if ($("rest-dialog").open) lines($("rest-state"), [silent(why)]);
    }
    isWatching = false;
  }

  async function planRest() {
    $("menu-dialog").close();
    $("rest-text").replaceChildren();
    $("take").hidden = true;
    $("newest").hidden = true;
    lines($("rest-state"), ["Planning the rest."]);
    $("rest-dialog").showModal();
    try {
      await send();
      await ask("rest", { plan: data.plan });
      await watchRest();
    } catch (why) {
      lines($("rest-state"), [`No plan. ${silent(why)}`]);
    }
  }

  async function take() {
    $("take").hidden = true;
    $("rest-text").replaceChildren();
    lines($("rest-state"), ["Writing the packet for the rest."]);
    $("rest-state").focus();
    try {
      const answer = await ask("take", { plan: data.plan });
      lines($("rest-state"), ["The newer plan is in force. First finish the boards that are already cut into, here; then go on with it."]);
      rest = { state: "none" };
      taken(answer);
      $("newest").hidden = false;
      fold();
      show();
    } catch (why) {
      lines($("rest-state"), [silent(why)]);
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
    on("done", () => { if (!isDead()) { if (isAtStop) passStop(); else if (leftAt(at)) tick(false); else if (replaced && data.steps.every((_, n) => !leftAt(n))) window.location.assign(plans.newer); else goOn(); } });
    on("all", () => { if (!isDead() && !isAtStop) tick(true); });
    on("cut-made", countCut);
    on("back", () => look(-1));
    on("next", () => look(1));
    on("undo", () => { if (!isDead()) undo(); });
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
    on("newest", () => $("newer").querySelector("button").click());
    on("rest-dialog", () => watchRest(), "close");
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
      if (event.key === "ArrowLeft") look(-1);
      if (event.key === "ArrowRight") look(1);
    });
    document.addEventListener("pointerdown", stayAwake);
    document.addEventListener("visibilitychange", () => { stayAwake(); refresh(); });
    window.addEventListener("resize", show);
    window.addEventListener("online", () => { wait = 1000; send(); });
    window.addEventListener("storage", async (event) => {
      const name = (event.key || "").replace(/^woodshop-saw /, "");
      if (event.newValue !== null && views.has(name)) views.set(name, event.newValue);
      await readQueue();
      fold();
      show();
    });
  }

  function sayIfNotKept() {
    if (isKept() || $("not-kept")) return;
    alertOf("not-kept", inside ? "This browser does not keep ticks for this page. They are gone when you close it. Save them to a file first: More." : "This browser keeps nothing for this page. Close it only when “All saved” is shown.");
  }

  async function start() {
    openStorage();
    await openDatabase();
    for (const each of await read("view ")) views.set(each.key.slice(5), each.value);
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
    data.units = data.units || ["in", "mm"]; // pages of older plans have both
    unit = data.units.find((each) => each === remembered("unit")) || data.unit;
    if (data.units.length < 2) document.querySelector(".units").remove();
    $("batch").textContent = data.batch;
    document.title = `At the saw: ${data.batch}`;
    if (data.do_not_cut) alertOf("stop", "DO NOT CUT. The design has errors.");
    sayIfNotKept();
    if (!data.steps.length) { alertOf("stop", "This plan has nothing to cut."); return; }
    await readQueue();
    fold();
    const before = remembered(`at ${data.plan}`);
    stepTo(before !== null && /^[0-9]+$/.test(before) ? Number(before) : 0);
    const open = leftAt(at) ? at : nextOpen();
    if (isBehindStop(at, open)) { work(stopStep()); isAtStop = true; } else work(open);
    listen();
    stayAwake();
    enter([]);
    watchRest();
    if (!inside) setInterval(refresh, 20000);
  }

  start();
})();
