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
  function say(words) {
    const part = (type, props) => ({ namespace: "dash_html_components", type: type, props: props });
    api.set_props("shell-notice", {
      children: part("Div", {
        role: "alert", className: "notice breach", children: part("P", { children: words }),
      }),
    });
  }
  // On a phone the answer to Check and Save lies below the screen: bring it up and focus it.
  let asked = false;
  document.addEventListener("click", function (event) {
    if (event.target.closest("#return-check, #return-save")) asked = true;
  });
  function showAnswer(selector) {
    const part = document.querySelector(selector);
    if (!part) return;
    part.tabIndex = -1;
    part.focus({ preventScroll: true });
    part.scrollIntoView({ block: "center" });
  }
  function answered() {
    if (!asked) return;
    asked = false;
    setTimeout(function () {
      const saved = document.querySelector("#return-saved .notice");
      showAnswer(saved ? "#return-saved .notice" : "#return-echo .echo");
    }, 300);
  }
  const ask = window.fetch;
  window.fetch = function () {
    return ask.apply(window, arguments).then(
      function (answer) {
        answered();
        if (answer.status === 403) say("This page is out of date. Load it again; a draft is kept.");
        return answer;
      },
      function (error) {
        say("The server does not answer. Nothing was saved; what you typed is still here. Try again.");
        asked = false;
        setTimeout(showAnswer, 300, "#shell-notice .notice");
        throw error;
      }
    );
  };

  let opened = false;
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
    // A click on a zone of the section fills the rows below: bring them into sight.
    reveal: function (_click, id) {
      const rows = document.getElementById(id);
      if (rows) rows.closest("section").scrollIntoView({ block: "nearest" });
    },
  };
})();
