// The page Reconciliation holds its charts for every choice: a choice only picks, and asks nobody.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});
  const nothing = { figure: { data: [], layout: {} }, said: "" };

  function picked(drawn, group, name) {
    const found = (drawn && drawn[group] && drawn[group][name]) || nothing;
    return [found.figure, found.said];
  }

  api.reconciliation = {
    bars: function (drawn, stream, unit) {
      return picked(drawn, "bars", stream + "|" + unit);
    },
    misfits: function (drawn, stream) {
      return picked(drawn, "misfits", stream);
    },
    implied: function (drawn, quantity) {
      return picked(drawn, "implied", quantity);
    },
    drift: function (drawn, belt) {
      return picked(drawn, "drift", belt);
    },
  };
})();
