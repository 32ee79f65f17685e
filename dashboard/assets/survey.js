// What the browser does for surveys: says whether it can draw in 3D.
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

  api.survey = {
    drawable: function (kind) {
      return { kind: kind || "plan", webgl: kind === "3d" && canDraw() };
    },
  };
})();
