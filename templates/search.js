/* The first page's search and narrowing: in the page itself, from a local file too.  The lists of links that
   stand there without JavaScript become boxes to tick; what was chosen stands in the address. */
(function () {
  "use strict";
  var wide = matchMedia("(min-width:901px)").matches;
  var form = document.getElementById("find"), box = document.getElementById("narrow");
  if (!form || !box) return;
  var say = JSON.parse(form.dataset.words), step = +form.dataset.newest, field = form.querySelector("input");
  var list = document.getElementById("jobs"), said = document.getElementById("count");
  var chosen = document.getElementById("chosen"), near = document.getElementById("near");
  var more = document.getElementById("more"), done = document.getElementById("done");
  var first = list.innerHTML, facets = [], on = {}, limit = step, jobs = null, index = null, asked = false;
  var kept = {}, heads = {}, narrow = box.querySelector("summary");

  function fill(text) {
    var values = arguments;
    return text.replace(/\{(\d)\}/g, function (_, n) { return values[+n + 1]; });
  }
  function esc(text) {
    return text.replace(/[&<>"]/g, function (c) { return { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" }[c]; });
  }
  function plain(text) {
    return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase().replace(/ß/g, "ss");
  }
  function parts(text) { return plain(text).match(/[\p{L}\p{N}]+(?:[-.][\p{L}\p{N}]+)*/gu) || []; }

  /* ---- what is asked for */
  function narrowed() {
    return field.value.trim() !== "" || facets.some(function (f) { return on[f].size > 0; });
  }
  function address() {
    var words = facets.filter(function (f) { return on[f].size; }).map(function (f) {
      return f + "=" + Array.from(on[f]).map(encodeURIComponent).join(",");
    });
    if (field.value.trim()) words.push("q=" + encodeURIComponent(field.value.trim()));
    history.replaceState(null, "", words.length ? "#" + words.join("&") : location.pathname + location.search);
  }
  function fromAddress() {
    facets.forEach(function (f) { on[f].clear(); });
    field.value = "";
    location.hash.slice(1).split("&").forEach(function (pair) {
      var at = pair.indexOf("="), name = pair.slice(0, at), value = pair.slice(at + 1);
      try {
        if (name === "q") field.value = decodeURIComponent(value);
        else if (on[name]) value.split(",").forEach(function (c) { on[name].add(decodeURIComponent(c)); });
      } catch (e) { /* an address that somebody cut short */ }
    });
    box.querySelectorAll("input").forEach(function (i) {
      i.checked = on[i.name].has(i.value);
      if (i.checked) i.closest("[data-facet]").open = true;
    });
  }

  /* ---- words: a part of one will do; where nobody says it, the nearest are taken */
  function distance(a, b, most) {
    if (Math.abs(a.length - b.length) > most) return most + 1;
    var before = [], last = [], row = [], i, j;
    for (j = 0; j <= b.length; j++) last[j] = j;
    for (i = 1; i <= a.length; i++) {
      row = [i];
      var least = i;
      for (j = 1; j <= b.length; j++) {
        row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
        if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) row[j] = Math.min(row[j], before[j - 2] + 1);
        least = Math.min(least, row[j]);
      }
      if (least > most) return most + 1;
      before = last; last = row;
    }
    return last[b.length];
  }
  function tokensOf(word) {
    var found = [], t;
    for (t of index.keys()) if (t.indexOf(word) >= 0) found.push(t);
    if (found.length || word.length < 4) return [found, false];
    var most = word.length < 8 ? 1 : 2, best = most + 1;
    for (t of index.keys()) {
      var d = Math.min(distance(word, t, most), distance(word, t.slice(0, word.length), most));
      if (d < best) { best = d; found = []; }
      if (d === best && d <= most) found.push(t);
    }
    return [found, true];
  }
  function byWords() {
    var words = parts(field.value), fits = null, told = [];
    words.forEach(function (word) {
      var found = tokensOf(word), rows = new Set();
      found[0].forEach(function (t) { index.get(t).forEach(function (r) { rows.add(r); }); });
      if (found[1] && found[0].length) told.push(fill(say.near, word, found[0].slice(0, 4).join(", ")));
      fits = fits === null ? rows : new Set(Array.from(fits).filter(function (r) { return rows.has(r); }));
    });
    near.textContent = told.join(" ");
    return fits;
  }

  /* ---- what is shown */
  function hits() {
    var fits = byWords(), found = [], counts = facets.map(function () { return []; });
    var want = facets.map(function (f, k) {
      return new Set(Array.from(on[f]).map(function (c) { return heads[f].findIndex(function (h) { return h[0] === c; }); }));
    });
    jobs.forEach(function (row, r) {
      if (fits && !fits.has(r)) return;
      var missed = -1, misses = 0;
      want.forEach(function (set, k) {
        if (set.size && !row[4][k].some(function (c) { return set.has(c); })) { missed = k; misses++; }
      });
      if (!misses) found.push(row);
      facets.forEach(function (f, k) { // a heading's numbers leave out its own choice: what one more would add
        if (!misses || (misses === 1 && missed === k)) row[4][k].forEach(function (c) { counts[k][c] = (counts[k][c] || 0) + 1; });
      });
    });
    return [found, counts];
  }
  function entry(row) {
    if (kept[row[0]]) return kept[row[0]];
    fetchScript("entries/" + encodeURIComponent(row[0]) + ".js");
    return '<li data-job="' + esc(row[0]) + '"><div class="blank"></div><div class="bd"><p class="no">' + esc(row[2]) + "</p><h2>" + esc(row[1]) + '</h2><p class="say">' + esc(row[3]) + '</p></div><div class="ms"></div></li>';
  }
  function show() {
    if (!narrowed()) { list.innerHTML = first; }
    if (!jobs) { if (narrowed()) load(); return; }
    var result = hits(), found = result[0], all = jobs.length, picked = 0;
    facets.forEach(function (f, k) {
      var most = Math.max.apply(null, [1].concat(result[1][k].filter(Boolean)));
      picked += on[f].size;
      heads[f].forEach(function (h, c) {
        var line = box.querySelector('[data-facet="' + f + '"] [data-code="' + CSS.escape(h[0]) + '"]'), n = result[1][k][c] || 0;
        if (!line) return;
        line.querySelector(".n").textContent = n;
        line.style.setProperty("--w", n / most);
        line.classList.toggle("nought", !n);
      });
    });
    said.textContent = found.length === all ? (all === 1 ? say.one : fill(say.all, all)) : found.length ? fill(say.some, found.length, all) : fill(say.none, all);
    narrow.textContent = say.narrow + (picked ? ": " + fill(say.chosen, picked) : "");
    chosen.innerHTML = facets.map(function (f) {
      return Array.from(on[f]).map(function (c) {
        var h = heads[f].find(function (x) { return x[0] === c; }), name = h ? h[1] : c;
        return '<button type="button" data-facet="' + f + '" data-code="' + esc(c) + '" aria-label="' + esc(fill(say.remove, name)) + '">' + esc(name) + " ×</button>";
      }).join("");
    }).join("");
    done.textContent = found.length ? fill(say.show, found.length) : say.nothing;
    if (narrowed() || limit > step) list.innerHTML = found.slice(0, limit).map(entry).join("");
    more.hidden = found.length <= limit;
    more.textContent = fill(say.more, found.length - limit);
  }
  function changed() { limit = step; address(); show(); }

  /* ---- scripts stand in for a server: a local file may load one, and nothing else */
  function fetchScript(source, failed) {
    var script = document.createElement("script");
    script.src = source;
    script.onload = script.onerror = function (e) { script.remove(); if (e.type === "error" && failed) failed(); };
    document.head.appendChild(script);
  }
  function load() {
    if (asked) return;
    asked = true;
    fetchScript("jobs.js", function () { near.textContent = say.lost; });
  }
  window.historyJobs = function (named, rows) {
    heads = named;
    jobs = rows;
    index = new Map();
    rows.forEach(function (row, r) {
      var text = row.slice(0, 4).join(" ");
      facets.forEach(function (f, k) { row[4][k].forEach(function (c) { text += " " + heads[f][c][1]; }); });
      new Set(parts(text)).forEach(function (t) { var at = index.get(t); if (at) at.push(r); else index.set(t, [r]); });
    });
    show();
  };
  window.historyEntry = function (job, item) {
    kept[job] = item;
    var waiting = list.querySelector('li[data-job="' + CSS.escape(job) + '"]');
    if (waiting) waiting.outerHTML = item;
  };

  /* ---- lists become boxes */
  box.querySelectorAll("[data-facet]").forEach(function (group) {
    var facet = group.dataset.facet, title = group.querySelector("h2");
    facets.push(facet);
    on[facet] = new Set();
    group.open = wide && group.querySelectorAll("[data-code]").length <= 8; /* a longer one hides those below */
    group.querySelector("ul").setAttribute("aria-labelledby", title.id);
    group.querySelectorAll("[data-code]").forEach(function (line) {
      var link = line.querySelector("a"), name = document.createElement("label"), tick = document.createElement("input");
      tick.type = "checkbox"; tick.name = facet; tick.value = line.dataset.code;
      name.append(tick, link.textContent);
      link.replaceWith(name);
    });
  });
  document.querySelectorAll(".js").forEach(function (e) { e.hidden = false; });
  narrow.textContent = say.narrow;
  box.open = wide;
  box.addEventListener("change", function (e) {
    on[e.target.name][e.target.checked ? "add" : "delete"](e.target.value);
    changed();
  });
  field.addEventListener("input", changed);
  field.addEventListener("focus", load);
  form.addEventListener("submit", function (e) { e.preventDefault(); });
  more.addEventListener("click", function () {
    var at = limit;
    limit += step;
    show();
    var next = list.children[at] && list.children[at].querySelector("h2 a, h2");
    if (next) { next.tabIndex = next.tabIndex < 0 && next.tagName !== "A" ? -1 : next.tabIndex; next.focus(); }
  });
  chosen.addEventListener("click", function (e) {
    var button = e.target.closest("button");
    if (!button) return;
    on[button.dataset.facet].delete(button.dataset.code);
    box.querySelectorAll("input").forEach(function (i) { i.checked = on[i.name].has(i.value); });
    changed();
    field.focus();
  });
  done.addEventListener("click", function () { box.open = false; said.scrollIntoView(); narrow.focus({ preventScroll: true }); });
  addEventListener("hashchange", function () { limit = step; fromAddress(); show(); });
  fromAddress();
  show();
})();
