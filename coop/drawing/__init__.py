"""Our own small pictures as SVG: no script, no inline style; colours by class, with the day colours as a fallback.

What others use: `Picture` (coop.drawing.picture), `temperature_curve`, `strip_sample`, `projected_balance`,
`share_cells`, `balance_bar`, `timeline`, `bar_picture`, `limit_bar`, `reach_bar`, `state_mark`.
"""
