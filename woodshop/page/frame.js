// Undo and redo by keyboard, the field that an address names, what is wider than its place, and the focus and the half-typed
// text that a rebuilt screen would lose.
(() => {
  // What is done before the connection is there is sent in the order in which it was done: the library would wait for
  // the connection with a timer for each, so that a press could overtake the value that was entered before it.
  const waiting = [];
  const sendWaiting = () => {
    while (window.did_handshake && waiting.length) waiting.shift()();
    if (waiting.length) setTimeout(sendWaiting, 10);
  };
  window.sendInOrder = (emit, ...values) => {
    if (waiting.push(() => emit(...values)) === 1) sendWaiting();
  };
  const isText = (e) =>
    e.isContentEditable || e.tagName === "TEXTAREA" ||
    (e.tagName === "INPUT" && !/^(checkbox|radio|button|submit|range|file|color)$/.test(e.type));
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.altKey || isText(e.target)) return;
    const key = e.key.toLowerCase();
    const id = key === "y" || (key === "z" && e.shiftKey) ? "redo" : key === "z" ? "undo" : "";
    const button = id && document.getElementById(id);
    if (!button) return;
    e.preventDefault();
    button.click();
  });
  // The wheel scrolls the page over a picture of a hive until the picture is pressed.
  let pressed = null;
  document.addEventListener("pointerdown", (e) => { pressed = e.target.closest(".hive-scene"); }, true);
  document.addEventListener("wheel", (e) => {
    const scene = e.target.closest(".hive-scene");
    if (scene && scene !== pressed) e.stopPropagation();
  }, { capture: true, passive: true });
  const regions = ".ws-scroll, .scroll, .wide-area";
  const widths = () => {
    for (const e of document.querySelectorAll(regions)) e.classList.toggle("is-wide", e.scrollWidth > e.clientWidth + 1);
  };
  const sized = new ResizeObserver(widths);
  let isWaiting = false;
  new MutationObserver(() => {
    if (isWaiting) return;
    isWaiting = true;
    requestAnimationFrame(() => {
      isWaiting = false;
      for (const e of document.querySelectorAll(regions)) sized.observe(e);
      widths();
    });
  }).observe(document.documentElement, { childList: true, subtree: true });
  const seek = () => {
    const at = decodeURIComponent(location.hash.slice(1)), begun = Date.now();
    const is = (place) => place === at || place.startsWith(`${at}.`);
    const look = () => {
      const field = [...document.querySelectorAll("[data-at]")].find((e) => is(e.dataset.at));
      if (field) { field.focus(); field.scrollIntoView({ block: "center" }); return; }
      const fold = [...document.querySelectorAll("details[data-holds]")].find((e) => e.dataset.holds.split("|").some(is));
      if (fold) fold.open = true;
      if (Date.now() - begun < 20000) setTimeout(look, 100);
    };
    if (at && at !== "work") look();
  };
  addEventListener("load", seek);
  addEventListener("hashchange", seek);
  const named = (e) =>
    [e.tagName, e.type || "", e.dataset.key || (e.type !== "checkbox" && e.dataset.at) || (e.tagName !== "BUTTON" && e.dataset.name) || e.getAttribute("aria-label") ||
      (e.labels && e.labels[0] ? e.labels[0].textContent : "") || e.textContent.trim(), e.type === "radio" ? e.value : ""].join("|");
  const like = (key) =>
    [...document.querySelectorAll("main a, main button, main input, main select, main textarea, main summary, main [tabindex]")]
      .filter((e) => named(e) === key);
  // What the server says that a control holds is shown in it, unless another value is half typed in it or on its way.
  const sent = new WeakMap(), begun = new WeakMap();
  const turn = (e) => Number(e.dataset.turn || 0);
  const due = (e) => (sent.has(e) ? sent.get(e) : turn(e));
  const follow = (e) => {
    if (turn(e) !== due(e) || (isText(e) && e === document.activeElement && e.value !== begun.get(e))) return;
    if (e.type === "checkbox") e.checked = e.dataset.value === "true";
    else e.value = e.tagName === "SELECT" ? e.dataset.value : e.getAttribute("value");
    begun.set(e, e.value);
  };
  new MutationObserver((found) => new Set(found.map((each) => each.target)).forEach((e) => {
    if (/^(INPUT|SELECT)$/.test(e.tagName) && (e.dataset.at || e.dataset.name)) follow(e);
  })).observe(document.documentElement, { subtree: true, attributeFilter: ["value", "data-value", "data-turn"] });
  // The browser sends no change of a text that was put back into a rebuilt field, and one for each digit of a day.
  const unsent = new WeakSet(), byKey = new WeakSet();
  const send = (e) => { if (unsent.delete(e)) e.dispatchEvent(new Event("change", { bubbles: true })); };
  document.addEventListener("pointerdown", (e) => byKey.delete(e.target), true);
  document.addEventListener("keydown", (e) => {
    if (e.target.type === "date" && e.key !== "Tab") byKey.add(e.target);
    if (e.key === "Enter") send(e.target);
  }, true);
  document.addEventListener("change", (e) => {
    if (!e.isTrusted || !byKey.has(e.target)) {
      unsent.delete(e.target);
      sent.set(e.target, due(e.target) + 1);
      begun.set(e.target, e.target.value);
      return;
    }
    e.stopImmediatePropagation();
    unsent.add(e.target);
  }, true);
  let last = null;
  document.addEventListener("focusin", (e) => {
    const at = e.target;
    if (!at.closest("main") || at.tagName === "MAIN") { last = null; return; }
    const key = named(at);
    begun.set(at, at.value);
    last = { at, key, place: like(key).indexOf(at), text: isText(at) ? at.value : null };
  });
  document.addEventListener("focusout", (e) => {
    const was = e.target;
    byKey.delete(was);
    if (e.relatedTarget) { send(was); return; }
    setTimeout(() => {
      if (!was.isConnected || document.activeElement === was) return;
      send(was);
      if (last && last.at === was && document.activeElement === document.body) last = null;
    });
  });
  new MutationObserver(() => {
    if (!last || last.at.isConnected || (document.activeElement && document.activeElement !== document.body)) return;
    const { at, key, place, text } = last;
    const again = like(key)[Math.max(place, 0)] || like(key)[0];
    if (!again) return;
    again.focus({ preventScroll: true });
    if (text === null) return;
    if (at.value !== text && again.value !== at.value) {
      again.value = at.value;
      again.dispatchEvent(new Event("input", { bubbles: true }));
      unsent.add(again);
    }
    if (at.selectionStart !== null) again.setSelectionRange(at.selectionStart, at.selectionEnd);
  }).observe(document.documentElement, { childList: true, subtree: true });
})();
