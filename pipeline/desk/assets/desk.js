// The desk is whole without this file. With it: a stopwatch on every pour, a sheet can be dropped, what was
// typed into the form outlives a closed tab, and a running month shows its words as they come.
(function () {
  "use strict";
  var STORE = "drainpool-bench";

  function clockText(tenths) {
    var seconds = (tenths % 600) / 10;
    return Math.floor(tenths / 600) + ":" + (seconds < 10 ? "0" : "") + seconds.toFixed(1);
  }

  function watch(button) {
    var started = null;
    var ticking = null;
    var field = document.getElementById(button.dataset.watch);
    function tenths() {
      return Math.round((performance.now() - started) / 100);
    }
    button.addEventListener("click", function () {
      if (started === null) {
        started = performance.now();
        button.classList.add("running");
        ticking = window.setInterval(function () {
          button.textContent = "Stop " + clockText(tenths());
        }, 100);
        button.textContent = "Stop 0:00.0";
        return;
      }
      field.value = clockText(tenths());
      window.clearInterval(ticking);
      started = null;
      button.classList.remove("running");
      button.textContent = "Again";
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
  }

  function kept() {
    try {
      return JSON.parse(window.localStorage.getItem(STORE)) || {};
    } catch (problem) {
      return {};
    }
  }

  function keep(values) {
    try {
      if (values) window.localStorage.setItem(STORE, JSON.stringify(values));
      else window.localStorage.removeItem(STORE);
    } catch (problem) {
      // a browser that keeps nothing still sends the form
    }
  }

  function keepForm(form) {
    var said = document.getElementById("fill-said");
    var forget = document.getElementById("forget");
    var values = kept();
    var fresh = !form.querySelector("[name=mix_1]").value;
    form.querySelectorAll("input:not([type=hidden]), select").forEach(function (field) {
      if (fresh && values[field.name] && !field.value) field.value = values[field.name];
    });
    forget.hidden = !Object.keys(values).length;
    form.addEventListener("input", function () {
      var now = {};
      form.querySelectorAll("input:not([type=hidden]), select").forEach(function (field) {
        if (field.value) now[field.name] = field.value;
      });
      keep(now);
      forget.hidden = false;
    });
    forget.addEventListener("click", function () {
      keep(null);
      forget.hidden = true;
      said.textContent = "Cleared.";
    });
  }

  // Once a sheet was sent its pours are done; the series stays for the next bench.
  function forgetPours() {
    var values = kept();
    Object.keys(values).forEach(function (name) {
      if (/^(mix|time|pot|pour|ended)_[0-9]+$/.test(name)) delete values[name];
    });
    keep(values);
  }

  function dropPlace(place) {
    var field = place.querySelector("input[type=file]");
    var said = document.getElementById("send-said");
    ["dragover", "dragenter"].forEach(function (kind) {
      place.addEventListener(kind, function (event) {
        event.preventDefault();
        place.classList.add("over");
      });
    });
    place.addEventListener("dragleave", function () {
      place.classList.remove("over");
    });
    place.addEventListener("drop", function (event) {
      event.preventDefault();
      place.classList.remove("over");
      if (event.dataTransfer.files.length) {
        field.files = event.dataTransfer.files;
        said.textContent = field.files[0].name;
      }
    });
    field.form.addEventListener("submit", function () {
      said.textContent = "Reading it …";
    });
  }

  function follow(place) {
    fetch(place.dataset.words, { credentials: "same-origin" })
      .then(function (answer) {
        return answer.json();
      })
      .then(function (run) {
        if (run.ended) return window.location.reload();
        place.textContent = run.lines.join("\n");
        window.setTimeout(follow, 1500, place);
      })
      .catch(function () {
        window.setTimeout(follow, 5000, place);
      });
  }

  document.querySelectorAll(".watch").forEach(function (place) {
    place.hidden = false;
    watch(place.querySelector("button"));
  });
  var form = document.getElementById("fill");
  if (form) keepForm(form);
  document.querySelectorAll(".drop").forEach(dropPlace);
  document.querySelectorAll("[data-words]").forEach(follow);
  if (document.querySelector("[data-sent]")) forgetPours();
})();
