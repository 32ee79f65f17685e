// The form of a dig return: which fields show, and the draft that survives a change of page.
(function () {
  "use strict";
  const api = (window.dash_clientside = window.dash_clientside || {});
  // Fields that a person types anew for each return: a draft is worth keeping once one is filled.
  const TYPED = [
    "bank_m3", "count", "capacity_m3", "mass_t", "from_level_m", "to_level_m",
    "lowest_level_m", "nil_reason", "note",
  ];

  // The columns of the form, in the order in which their fields are handed over.
  const COLUMNS = [
    "work_date", "shift", "zone", "stage", "stream", "basis", "bank_m3", "count", "capacity_m3",
    "mass_t", "from_level_m", "to_level_m", "lowest_level_m", "nil_reason", "note", "by",
  ];

  function filled(value) {
    return value !== null && value !== undefined && String(value).trim() !== "";
  }

  api.entry = {
    blocks: function (nil, basis) {
      return [
        !nil,
        nil,
        !(basis === "measured" || basis === "estimated"),
        basis !== "counted",
        basis !== "weighed",
      ];
    },
    draft: function () {
      const args = Array.from(arguments);
      const [nil, causes, minutes, ready] = args.splice(COLUMNS.length);
      if (!ready || ready.mode !== "new") return api.no_update;
      const draft = { nil: nil, causes: causes, minutes: minutes };
      COLUMNS.forEach(function (name, n) { draft[name] = args[n]; });
      const worth = TYPED.some((name) => filled(draft[name])) || nil || minutes.some(filled);
      if (!worth) return null;
      draft.saved_at = new Date().toISOString();
      return draft;
    },
    // Anything changed after the check: what was checked is no longer what would be saved.
    unchecked: function () {
      return [[], true];
    },
    // A level below the permitted one is saved by a second deliberate act.
    untold: function (told, hidden) {
      return !hidden && !told;
    },
  };
})();
