// What the browser does by itself: measure the width, move the focus.
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
  };
})();
