from itertools import pairwise

from dashboard import theme


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it (relative luminance, sRGB)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_small_print_has_a_contrast_of_four_and_a_half_on_white():
    for colour in (theme.INK, theme.GREY, theme.PLANNED, theme.DONE_TEXT, theme.BREACH_TEXT):
        assert contrast(colour, theme.PAPER) >= 4.5, colour


def test_levels_written_on_the_ground_can_be_read():
    for colour, _hatch in theme.GROUND:
        assert contrast(theme.INK, colour) >= 4.5, colour


def test_every_stream_differs_from_the_next_by_more_than_its_colour():
    hatches = [hatch for _, hatch in theme.GROUND]
    assert len(set(hatches)) == len(hatches)


def lightness(colour):
    """Lightness L* of CIE 1976 from the relative luminance [0 to 100]."""
    y = luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def test_surveyed_levels_darken_in_even_steps_from_high_to_low():
    shades = [lightness(colour) for colour in theme.LEVELS]
    steps = [above - below for above, below in pairwise(shades)]
    assert min(steps) > 0.75 * max(steps) > 0


def test_colours_between_those_of_the_levels_run_from_first_to_last():
    colours = theme.level_colours(24)
    assert (colours[0], colours[-1]) == (theme.LEVELS[0], theme.LEVELS[-1])
    assert len({*colours}) == 24


def test_what_was_surveyed_is_told_from_every_accent():
    accents = {theme.PLANNED, theme.DONE, theme.BREACH, theme.WARNING, theme.INK}
    assert accents.isdisjoint(theme.LEVELS)
    assert contrast(theme.SURVEYED, theme.PAPER) >= 4.5


def test_a_millimetre_of_breach_never_rounds_away():
    assert theme.level(96.399) == "96.399"


def test_numbers_are_grouped_with_commas_and_carry_a_true_minus():
    assert theme.number(-12345.67, "m³", 1) == "−12,345.7 m³"


def test_an_empty_figure_says_why_it_is_empty():
    assert theme.empty_figure("No returns yet.").layout.annotations[0].text == "No returns yet."
