// The desk is whole without this file. With it: a sheet can be dropped, what was typed into the form outlives a
// closed tab, and a running month shows its words as they come. Stopwatches: stopwatch.js.
(function () {
  "use strict";
  var STORE = "drainpool-bench";

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

  var FIELDS = "input:not([type=hidden]), select";
  var OF_POUR = /^(mix|time|pot|pour|ended)_([0-9]+)$/;

  // How many lines a kept form needs.
  function linesIn(values) {
    return Object.keys(values).reduce(function (most, name) {
      var line = OF_POUR.exec(name);
      return Math.max(most, line ? Number(line[2]) : 0);
    }, 0);
  }

  function keepForm(form) {
    var said = document.getElementById("fill-said");
    var forget = document.getElementById("forget");
    var values = kept();
    var lines = Number(form.elements.pours.value);
    var fresh = !form.querySelector("[name=mix_1]").value;
    if (fresh && linesIn(values) > lines && !/[?&]pours=/.test(window.location.search)) {
      return window.location.replace("/fill?pours=" + linesIn(values));
    }
    form.querySelectorAll(FIELDS).forEach(function (field) {
      if (fresh && values[field.name] && !field.value) field.value = values[field.name];
    });
    forget.hidden = !Object.keys(values).length;
    form.addEventListener("input", function () {
      var now = kept();
      form.querySelectorAll(FIELDS).forEach(function (field) {
        if (field.value) now[field.name] = field.value;
        else delete now[field.name];
      });
      keep(now);
      forget.hidden = false;
    });
    forget.addEventListener("click", function () {
      keep(null);
      form.dispatchEvent(new Event("forgotten"));
      forget.hidden = true;
      said.textContent = "Cleared.";
    });
  }

  // Once a sheet was sent its pours are done; the series stays for the next bench.
  function forgetPours() {
    var values = kept();
    Object.keys(values).forEach(function (name) {
      if (OF_POUR.test(name)) delete values[name];
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

  var form = document.querySelector("#fill[data-draft]");
  if (form) keepForm(form);
  document.querySelectorAll(".drop").forEach(dropPlace);
  document.querySelectorAll("[data-words]").forEach(follow);
  if (document.querySelector("[data-sent]")) forgetPours();
})();
