// Two options: which changes are open, the slider beside a typed number, the link to copy.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});
  const NUMBER = /^\s*(\d{1,12}|[1-9]\d{0,2}(,\d{3})+)(\.\d+)?\s*$/;

  api.options = {
    opened: function (on) {
      return !on;
    },
    // The slider follows what is typed, as far as it goes; what is typed follows the slider.
    // Whether a text is a number is decided on the server: here it only moves the slider.
    follow: function (typed, at, least, most) {
      const moved = api.callback_context.triggered_id;
      if (!moved) return [api.no_update, api.no_update];
      if (moved.type.endsWith("slider")) return [String(at), api.no_update];
      if (!NUMBER.test(typed || "")) return [api.no_update, api.no_update];
      const value = Number(typed.replace(/,/g, ""));
      return [api.no_update, Math.min(Math.max(value, least), most)];
    },
    // The answer lies below the form: after the button it is brought up and takes the focus.
    link: function (query, pressed, headline) {
      const answer = document.getElementById(headline);
      if (query && pressed && answer) {
        setTimeout(function () {
          answer.focus({ preventScroll: true });
          answer.scrollIntoView({ block: "start" });
        }, 100);
      }
      return query ? location.origin + query : "";
    },
  };
})();
