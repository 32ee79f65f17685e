// What the browser does by itself: measure the width, move the focus, notice silence.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});
  const STEP = 10;

  function sheetWidth() {
    const main = document.getElementById("shell-main");
    const style = main ? getComputedStyle(main) : null;
    const inside = main
      ? main.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight)
      : document.documentElement.clientWidth - 32;
    return Math.max(280, Math.floor(Math.min(inside, 1240) / STEP) * STEP);
  }

  let waiting = null;
  window.addEventListener("resize", function () {
    clearTimeout(waiting);
    waiting = setTimeout(function () {
      api.set_props("shell-width", { data: sheetWidth() });
    }, 200);
  });

  // A phone in a dig loses its network: say so, and that nothing typed is lost.
  function say(words, place) {
    const part = (type, props) => ({ namespace: "dash_html_components", type: type, props: props });
    api.set_props(place || "shell-notice", {
      children: part("Div", {
        role: "alert", className: "notice breach", children: part("P", { children: words }),
      }),
    });
  }
  // On a phone the answer to Check and Save lies below the screen: bring it up and focus it.
  const BUTTON = /"changedPropIds":\["(return|spoil)-(check|save|withdraw)\.n_clicks"\]/;
  function showAnswer(selector) {
    const part = document.querySelector(selector);
    if (!part) return;
    part.tabIndex = -1;
    part.focus({ preventScroll: true });
    part.scrollIntoView({ block: part.offsetHeight > 400 ? "start" : "center" });
  }
  function answered() {
    setTimeout(function () {
      const places = [
        "#return-saved .notice", "#return-echo .echo", "#spoil-saved .notice", "#spoil-echo .echo",
        "#shell-notice .notice",
      ];
      showAnswer(places.find((place) => document.querySelector(place)));
    }, 300);
  }
  const ask = window.fetch;
  window.fetch = function () {
    const pressed = BUTTON.exec((arguments[1] || {}).body || "");
    const byButton = Boolean(pressed);
    const answerPlace = byButton ? pressed[1] + "-saved" : "shell-notice";
    return ask.apply(window, arguments).then(
      function (answer) {
        if (byButton) answered();
        if (answer.status === 403) {
          const words = "This page is out of date. Load it again; a draft is kept.";
          say(words, answerPlace);
        }
        return answer;
      },
      function (error) {
        const words = "The server does not answer. What you typed is still here. Try again.";
        say(words, answerPlace);
        if (byButton) answered();
        throw error;
      }
    );
  };

  // On a phone the names of the pages that do not fit the bar stand behind a button.
  function showMore(open) {
    const button = document.getElementById("shell-more");
    if (button) button.setAttribute("aria-expanded", String(open));
  }
  document.addEventListener("click", function (event) {
    const onButton = event.target.closest && event.target.closest("#shell-more");
    showMore(onButton ? onButton.getAttribute("aria-expanded") !== "true" : false);
  });
  document.addEventListener("keydown", function (event) {
    const button = document.getElementById("shell-more");
    if (event.key !== "Escape" || !button) return;
    if (button.getAttribute("aria-expanded") === "true") button.focus();
    showMore(false);
  });

  let opened = false;
  const watching = {}; // by the store that is told
  api.shell = {
    width: function () {
      return sheetWidth();
    },
    // After a change of page: name the window, mark the link, move the focus to the heading.
    arrive: function (children, pathname) {
      setTimeout(function () {
        const heading = document.querySelector("#shell-main h1");
        if (!heading) return;
        document.title = heading.textContent + " · Spoil ledger";
        document.querySelectorAll("#shell-nav a").forEach(function (link) {
          if (link.getAttribute("href") === pathname) link.setAttribute("aria-current", "page");
          else link.removeAttribute("aria-current");
        });
        if (opened) {
          window.scrollTo(0, 0);
          heading.focus({ preventScroll: true });
        }
        opened = true;
      }, 0);
      return pathname;
    },
    // What was asked for is there: its red sentence goes.
    filled: function () {
      return Array.from(arguments).map((value) => (value && value.trim() ? null : api.no_update));
    },
    // What lies below the screen is asked for once it is scrolled near, anew after each change.
    seen: function (shown, place, store) {
      const part = document.getElementById(place);
      if (!shown || !part) return;
      if (watching[store]) watching[store].disconnect();
      watching[store] = new IntersectionObserver(
        function (entries, watcher) {
          if (!entries.some((entry) => entry.isIntersecting)) return;
          watcher.disconnect();
          api.set_props(store, { data: shown });
        },
        { rootMargin: "320px 0px" }
      );
      watching[store].observe(part);
    },
    // A click on a zone of the section fills what is below: bring it into sight.
    reveal: function (_click, id) {
      const rows = document.getElementById(id);
      if (rows) rows.closest("section").scrollIntoView({ block: "nearest" });
    },
  };
})();
