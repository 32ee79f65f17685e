// Files that a page hands over, what is looked at of them, and whether 3D can be drawn here.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});

  let webgl = null;
  function canDraw() {
    if (webgl === null) {
      try {
        webgl = Boolean(document.createElement("canvas").getContext("webgl"));
      } catch (_error) {
        webgl = false;
      }
    }
    return webgl;
  }

  // --- files: each goes in a request of its own, as it is --------------------------------------
  let handed = {};

  function told(place, words, isRefusal) {
    const line = place.querySelector("p");
    line.textContent = words;
    line.className = isRefusal ? "field-error" : "field-help";
    line.setAttribute("role", isRefusal ? "alert" : "status");
  }

  function cookie(name) {
    const found = document.cookie.split("; ").find((one) => one.startsWith(name + "="));
    return found ? decodeURIComponent(found.slice(name.length + 1)) : "";
  }

  function answered(place, kind, name, request) {
    let answer = {};
    try {
      answer = JSON.parse(request.responseText);
    } catch (_error) {
      answer = {};
    }
    if (request.status !== 200) {
      const outdated = request.status === 403;
      const words = outdated ? "This page is out of date. Load it again." : answer.refused;
      told(place, words || "The server did not take " + name + ". Try again.", true);
      return;
    }
    const prefix = place.dataset.prefix;
    handed = Object.assign({}, handed, { work: answer.work, [kind]: answer.name });
    api.set_props(prefix + "-handed", { data: handed });
    // What was looked at is no longer what would be recorded.
    api.set_props(prefix + "-report", { children: null });
    api.set_props(prefix + "-save-block", { hidden: true });
    api.set_props(prefix + "-work", { data: null });
  }

  function handOver(place, file) {
    const kind = place.dataset.kind;
    const most = Number(place.dataset.mostMb);
    if (file.size > most * 1e6) {
      told(place, file.name + " is " + place.dataset.tooLarge, true);
      return;
    }
    const query = new URLSearchParams({ kind: kind, name: file.name, work: handed.work || "" });
    const request = new XMLHttpRequest();
    request.open("POST", place.dataset.address + "?" + query);
    request.setRequestHeader("X-CSRFToken", cookie("_csrf_token"));
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.upload.onprogress = function (event) {
      const percent = Math.round((100 * event.loaded) / event.total);
      told(place, "Sending " + file.name + ": " + percent + " %", false);
    };
    request.onload = () => answered(place, kind, file.name, request);
    request.onerror = () => told(place, "The server does not answer. Choose the file again.", true);
    request.send(file);
  }

  function fill(place) {
    if (!place.firstChild) {
      const input = document.createElement("input");
      input.type = "file";
      input.id = place.dataset.control;
      input.addEventListener("change", function () {
        if (input.files.length) handOver(place, input.files[0]);
      });
      place.append(input, document.createElement("p"));
    }
    if (!Object.keys(handed).length) place.querySelector("input").value = "";
    const name = handed[place.dataset.kind];
    told(place, name ? name + " is with the server." : "", false);
  }

  api.files = {
    place: function (data) {
      handed = data || {};
      document.querySelectorAll(".file-place").forEach(fill);
    },
    // Anything changed after the look: what was looked at is no longer what would be recorded.
    unlooked: function () {
      return [null, true, null];
    },
    arrive: function (report) {
      if (!report) return;
      setTimeout(function () {
        const heading = document.querySelector(".report-heading");
        if (!heading) return;
        heading.focus({ preventScroll: true });
        heading.scrollIntoView({ block: "start" });
      }, 0);
    },
    // The button that was pressed may be gone or at the foot of the screen: show the answer.
    answer: function () {
      setTimeout(function () {
        const places = ["record-saved", "record-said", "import-saved", "import-said"];
        const told = document.querySelector(places.map((id) => "#" + id + " .notice").join(", "));
        if (!told) return;
        told.tabIndex = -1;
        told.focus({ preventScroll: true });
        told.scrollIntoView({ block: "center" });
      }, 0);
    },
    drawable: function (kind) {
      return { kind: kind || "plan", webgl: kind === "3d" && canDraw() };
    },
  };
})();
