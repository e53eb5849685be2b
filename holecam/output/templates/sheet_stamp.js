"use strict";
// Looks at the stamp file beside the sheet, which is a style sheet: its values are read, nothing in it can run.
// newer(stamp) is called when another plan lies in the folder, trouble(text) at each look ("" when all is well).
function followStamp(own, newer, trouble) {
  const SECONDS = 2;
  const name = location.pathname.split("/").pop();
  if (location.protocol !== "file:" || !/\.html?$/i.test(name)) return;
  const file = name.replace(/\.html?$/i, "-stamp.css"), holder = document.getElementById("stamp");
  let count = 0, waiting = false;
  function value(look, key) {
    const text = look.getPropertyValue(key).trim();
    try { return decodeURIComponent(text.slice(1, -1)); } catch (e) { return ""; }
  }
  function look() {
    if (document.hidden) { waiting = true; return; }
    const link = document.createElement("link");
    link.rel = "stylesheet";
    link.href = file + "?" + ++count; // a new address each time, or the browser would show what it read before
    link.onload = () => {
      const seen = getComputedStyle(holder), stamp = value(seen, "--plan"), words = value(seen, "--trouble");
      link.remove();
      trouble(words);
      if (/^[0-9a-f]{16}$/.test(stamp) && stamp !== own) newer(stamp);
      setTimeout(look, SECONDS * 1000);
    };
    // no such file: the sheet was carried elsewhere; look again only when somebody comes back to it
    link.onerror = () => { link.remove(); waiting = true; };
    document.head.append(link);
  }
  function again() { if (waiting && !document.hidden) { waiting = false; look(); } }
  document.addEventListener("visibilitychange", again);
  window.addEventListener("focus", again);
  look();
}
