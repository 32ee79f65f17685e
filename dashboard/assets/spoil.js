// The form of a record of spoil: which fields show, and the draft that survives a change of page.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});

  function filled(value) {
    return value !== null && value !== undefined && String(value).trim() !== "";
  }
  // What stands in the fields of the callback that runs: [name, value], the column and its part.
  function fields() {
    return api.callback_context.inputs_list[0].map(function (one) {
      return [(one.id.column + " " + one.id.part).trim(), one.value];
    });
  }

  // An address that names a part of the page opens at that part, once it is filled.
  let shown = "";
  function reveal() {
    const parts = document.querySelector(".parts");
    if (parts) parts.scrollIntoView({ block: "start" });
  }

  api.spoil = {
    part: function (contents) {
      const address = location.pathname + location.search;
      if (!contents.some(Boolean) || address === shown) return;
      shown = address;
      if (!new URLSearchParams(location.search).has("part")) return;
      reveal();
      setTimeout(reveal, 400); // what stands above it may have been filled meanwhile
    },
    // A place is hidden while the field it depends on says nothing that needs it.
    places: function (_values, mode, ids) {
      const held = Object.fromEntries(fields());
      return ids.map(function (id) {
        const rule = mode.shown_if[id.column];
        return Boolean(rule) && !rule[1].includes(held[rule[0] + " choice"]);
      });
    },
    draft: function (_values, ready, drafts) {
      if (!ready || ready.mode !== "new") return api.no_update;
      const held = fields();
      const rest = Object.assign({}, drafts);
      delete rest[ready.kind];
      if (held.some(([name, value]) => ready.typed.includes(name) && filled(value))) {
        rest[ready.kind] = { values: Object.fromEntries(held), saved_at: new Date().toISOString() };
      }
      return rest;
    },
    // Anything changed after the check: what was checked is no longer what would be saved.
    unchecked: function () {
      return [[], true];
    },
  };
})();
