// Draws the charts, keeps a reader's own pot, and shows the part of the pool that was chosen.
(function () {
  "use strict";

  function drawCharts(within) {
    if (typeof window.vegaEmbed !== "function") return;
    within.querySelectorAll(".plot:not(.drawn)").forEach(function (place) {
      if (place.closest("[hidden], details:not([open])")) return;
      var spec = JSON.parse(document.getElementById(place.dataset.spec).textContent);
      place.classList.add("drawn");
      place.textContent = "";
      window
        .vegaEmbed(place, spec, { ast: true, defaultStyle: false, tooltip: false, actions: false, renderer: "svg" })
        .catch(function () {
          place.textContent = spec.description || "";
        });
    });
  }

  // One chart after another, with a breath between, so that the page answers while they are drawn.
  function drawInTurn() {
    var waiting = Array.from(document.querySelectorAll("figure.chart"));
    (function next() {
      var figure = waiting.shift();
      if (!figure) {
        document.documentElement.dataset.drawn = "yes";
        return;
      }
      drawCharts(figure);
      window.setTimeout(next, 0);
    })();
  }

  // As `time_words` of reports/words.py: seconds below five minutes, half minutes below ten, hours from 100 minutes on.
  function timeInWords(value) {
    var seconds = Math.max(5, 5 * Math.round(value * 12));
    if (seconds < 300) {
      var whole = Math.floor(seconds / 60), rest = seconds % 60;
      return [whole ? whole + "\u00a0min" : "", rest ? rest + "\u00a0s" : ""].filter(Boolean).join(" ");
    }
    if (value < 9.75) {
      var halves = Math.round(value * 2);
      return Math.floor(halves / 2) + (halves % 2 ? "½" : "") + "\u00a0min";
    }
    if (value < 99.5) return Math.round(value) + "\u00a0min";
    var tens = 10 * Math.round(value / 10), hours = Math.floor(tens / 60);
    return hours + "\u00a0h" + (tens % 60 ? " " + (tens % 60) + "\u00a0min" : "");
  }

  function readPot() {
    try {
      return JSON.parse(window.localStorage.getItem("drainpool-pot"));
    } catch (problem) {
      return null;
    }
  }

  function keepPot(pot) {
    try {
      if (pot) window.localStorage.setItem("drainpool-pot", JSON.stringify(pot));
      else window.localStorage.removeItem("drainpool-pot");
    } catch (problem) {
      // a browser that keeps nothing still restates this page
    }
  }

  var STANDARD = "standard pot";
  var OWN = "your pot";

  // The pot is a cone, cut off: a third of its volume is poured where nothing is typed. Depth of water drained decides
  // the time: half of what was poured over the pot's area (pi/4 · top · base), against the standard pot's.
  function coneVolume(pot) {
    return (Math.PI / 12) * pot.depth * (pot.width * pot.width + pot.width * pot.base + pot.base * pot.base);
  }

  function potFactor(pot, standard) {
    var mine = pot.poured / 2 / ((Math.PI / 4) * pot.width * pot.base);
    return mine / (standard.collected / standard.area);
  }

  function speakIn(pot, standard) {
    var factor = pot ? potFactor(pot, standard) : 1;
    document.querySelectorAll(".minutes").forEach(function (place) {
      if (!place.dataset.said) place.dataset.said = place.textContent;
      place.textContent = pot ? timeInWords(place.dataset.minutes * factor) : place.dataset.said;
    });
    document.querySelectorAll("thead th").forEach(function (heading) {
      if (heading.textContent === (pot ? STANDARD : OWN)) heading.textContent = pot ? OWN : STANDARD;
    });
    document.querySelectorAll("form.pot").forEach(function (form) {
      form.querySelector("[role=status]").textContent = pot
        ? "Minutes on this page are now for your pot: " + pot.width + " cm wide at the fill line, " + pot.base + " cm at the base, " + pot.depth + " cm deep (" + Math.round(coneVolume(pot) / 10) / 100 + " l), half of " + pot.poured + " ml out."
        : "";
      ["width", "base", "depth", "poured"].forEach(function (name) {
        form.elements[name].value = pot ? pot[name] : "";
      });
    });
  }

  function potForms() {
    var forms = document.querySelectorAll("form.pot");
    if (!forms.length) return; // every page that states minutes has the form
    var standard = { area: Number(forms[0].dataset.area), collected: Number(forms[0].dataset.collected) };
    forms.forEach(function (form) {
      form.hidden = false;
      form.addEventListener("submit", function (event) {
        event.preventDefault();
        var width = Number(form.elements.width.value);
        var depth = Number(form.elements.depth.value);
        var base = Number(form.elements.base.value) || width;
        if (!(width > 0 && depth > 0)) {
          form.querySelector("[role=status]").textContent = "Width at the fill line and depth are needed, in cm.";
          return;
        }
        var pot = { width: width, base: base, depth: depth };
        var third = coneVolume(pot) / 3;
        pot.poured = Number(form.elements.poured.value) || Math.round(third / 10) * 10 || Math.round(third);
        keepPot(pot);
        speakIn(pot, standard);
      });
      form.addEventListener("reset", function (event) {
        event.preventDefault();
        keepPot(null);
        speakIn(null, standard);
      });
    });
    var kept = readPot();
    if (kept && kept.width > 0 && !(kept.base > 0)) kept.base = kept.width; // kept before the base was asked for
    if (kept && kept.width > 0 && kept.depth > 0 && kept.poured > 0) speakIn(kept, standard);
  }

  function choosers() {
    document.querySelectorAll(".chooser").forEach(function (chooser) {
      var choices = Array.from(chooser.querySelectorAll("select"));
      function show() {
        var key = choices.map(function (choice) { return choice.value; }).join("|");
        var panels = Array.from(chooser.querySelectorAll(".panel"));
        var found = panels.filter(function (panel) { return panel.dataset.key === key; })[0];
        panels.forEach(function (panel) {
          panel.hidden = panel !== (found || chooser.querySelector(".missing"));
        });
        drawCharts(chooser);
      }
      // The choice lives in the page's address, so that it stays when the page is loaded again and can be passed on.
      function fromAddress() {
        var asked = new URLSearchParams(window.location.hash.slice(1));
        choices.forEach(function (choice, number) {
          var wanted = asked.get(chooser.id + "-" + number);
          if (wanted !== null && Array.from(choice.options).some(function (option) { return option.value === wanted; })) choice.value = wanted;
        });
        show();
      }
      function toAddress() {
        var kept = new URLSearchParams(window.location.hash.indexOf("=") > 0 ? window.location.hash.slice(1) : "");
        choices.forEach(function (choice, number) { kept.set(chooser.id + "-" + number, choice.value); });
        window.history.replaceState(null, "", "#" + kept.toString());
      }
      choices.forEach(function (choice) { choice.addEventListener("change", function () { toAddress(); show(); }); });
      window.addEventListener("hashchange", fromAddress);
      fromAddress();
    });
  }

  // What is folded away is drawn when it is opened, and opened for paper; the front page prints as it stands.
  document.addEventListener("toggle", function (event) { drawCharts(event.target); }, true);
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("body:not(.one-sheet) details:not([open])").forEach(function (fold) {
      fold.dataset.folded = "yes";
      fold.open = true;
    });
  });
  window.addEventListener("afterprint", function () {
    document.querySelectorAll("details[data-folded]").forEach(function (fold) {
      fold.open = false;
      delete fold.dataset.folded;
    });
  });

  choosers();
  potForms();
  drawInTurn();
})();
