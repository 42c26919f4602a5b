// Stopwatches of the form. The moment of a start is kept in the browser: a reload, the way back or another page
// changes nothing. A second tap within a second is no tap. Undo takes back a stop, then the start.
(function () {
  "use strict";
  var STORE = "drainpool-watches";
  var TAPPED_TWICE_MS = 1000;
  var FORGOTTEN_MS = 8 * 24 * 3600 * 1000;
  var form = document.getElementById("fill");
  var sheet = form ? form.dataset.name : "";

  function watches() {
    var kept = {};
    try {
      kept = JSON.parse(window.localStorage.getItem(STORE)) || {};
    } catch (problem) {
      return memory;
    }
    Object.keys(kept).forEach(function (name) {
      var age = Date.now() - kept[name].started;
      if (!(age > -60000 && age < FORGOTTEN_MS)) delete kept[name];
    });
    return kept;
  }

  // Where the browser keeps nothing, a watch lives as long as the page.
  var memory = {};
  function keep(name, watch) {
    var all = watches();
    if (watch) all[name] = watch;
    else delete all[name];
    memory = all;
    try {
      window.localStorage.setItem(STORE, JSON.stringify(all));
    } catch (problem) {
      // see above
    }
  }

  function clockText(milliseconds) {
    var tenths = Math.max(0, Math.round(milliseconds / 100));
    var seconds = (tenths % 600) / 10;
    return Math.floor(tenths / 600) + ":" + (seconds < 10 ? "0" : "") + seconds.toFixed(1);
  }

  // The screen stays on while a watch runs, where the browser can; silent where it can't.
  var awake = null;
  function stayAwake() {
    var running = isRunning();
    if (!running && awake) {
      awake.release().catch(function () {});
      awake = null;
    }
    if (!running || awake || !navigator.wakeLock || document.visibilityState !== "visible") return;
    navigator.wakeLock
      .request("screen")
      .then(function (lock) {
        awake = lock;
        lock.addEventListener("release", function () {
          if (awake === lock) awake = null;
        });
      })
      .catch(function () {});
  }

  function isRunning() {
    var all = watches();
    return Object.keys(all).some(function (name) {
      return all[name].stopped === null;
    });
  }

  function show(place) {
    var button = place.querySelector("[data-watch]");
    var undo = place.querySelector("[data-undo]");
    var field = document.getElementById(button.dataset.watch);
    var name = sheet + "|" + button.dataset.watch;
    var tapped = -Infinity;

    function draw() {
      var watch = watches()[name];
      var running = Boolean(watch) && watch.stopped === null;
      button.classList.toggle("running", running);
      button.textContent = running ? "Stop " + clockText(Date.now() - watch.started) : field.value ? "Again" : "Start";
      undo.hidden = !watch;
      undo.textContent = running ? "Undo start" : "Undo stop";
    }

    function write(text) {
      field.value = text;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }

    function change(watch) {
      keep(name, watch);
      draw();
      stayAwake();
    }

    button.addEventListener("click", function () {
      var now = Date.now();
      if (now - tapped < TAPPED_TWICE_MS) return;
      tapped = now;
      var watch = watches()[name];
      if (watch && watch.stopped === null) {
        change({ started: watch.started, stopped: now, before: watch.before });
        write(clockText(now - watch.started));
        draw();
        return;
      }
      change({ started: now, stopped: null, before: field.value });
    });

    undo.addEventListener("click", function () {
      var watch = watches()[name];
      if (!watch) return;
      tapped = -Infinity;
      if (watch.stopped === null) {
        change(null);
        write(watch.before);
        draw();
        return;
      }
      change({ started: watch.started, stopped: null, before: watch.before });
      write(watch.before);
      draw();
    });

    field.addEventListener("input", draw);
    place.hidden = false;
    draw();
    window.setInterval(draw, 100);
  }

  // On other pages: how long the oldest watch runs, and the way back to it.
  function showElsewhere(place) {
    var all = watches();
    var running = Object.keys(all).filter(function (name) {
      return all[name].stopped === null;
    });
    place.hidden = !running.length;
    if (!running.length) return;
    running.sort(function (one, other) {
      return all[one].started - all[other].started;
    });
    var of = running[0].split("|");
    var link = place.querySelector("a");
    link.textContent = "A stopwatch runs: " + clockText(Date.now() - all[running[0]].started).split(".")[0] + ", pour " + of[1].split("_")[1];
    link.href = of[0] ? "/mine/mend?series=" + encodeURIComponent(of[0]) : "/fill";
  }

  if (document.querySelector("[data-sent]")) {
    Object.keys(watches()).forEach(function (name) {
      keep(name, null);
    });
  }
  if (form) {
    document.querySelectorAll(".watch").forEach(show);
    form.addEventListener("forgotten", function () {
      Object.keys(watches()).forEach(function (name) {
        keep(name, null);
      });
    });
  } else {
    var bar = document.getElementById("stopwatch-runs");
    showElsewhere(bar);
    window.setInterval(showElsewhere, 1000, bar);
  }
  stayAwake();
  document.addEventListener("visibilitychange", stayAwake);
})();
