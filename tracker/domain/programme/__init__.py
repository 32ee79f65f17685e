"""From the plan to formation: planned curve, earned schedule, forecast, and how well it held."""
