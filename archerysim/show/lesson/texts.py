"""Every sentence of the page for a class, in one table. Another language is another table with the same keys.

What stands in braces is filled in as the page is made or as sliders move. The two ends of a slider are parted by "|".
"""

from __future__ import annotations

from collections.abc import Mapping

from archerysim.show.page.texts import ENGLISH as SHARED
from archerysim.show.page.texts import checked

ENGLISH: Mapping[str, str] = {
    **SHARED,
    "title": "Why an arrow porpoises",
    "heading": "Why an arrow porpoises, and what the locators do about it",
    "heading_side": "Why an arrow fishtails, and what the shaft does about it",
    "lead": "Three arrows leave the same bow. Only the height of the nock locators differs: 4 mm (3/16 in) below, at, "
    "and above the reading that brings bare and fletched shafts together. Watch the tail, not the drop: the fall by "
    "weight is taken out of these pictures.",
    "lead_side": "The same flights seen from above. Only the stiffness of the shaft differs: stiffer than yours, "
    "yours, weaker. Too much of this swing is called fishtailing.",
    "invented": "An invented bow: not your bow's numbers.",
    "invented_handout": "An invented bow: not your bow's numbers. On a real bow: set, shoot a group, look, move a "
    "little.",
    "own": "{name}, as the model has it: a move can be trusted, the absolute height is worth a few millimetres. "
    "Another bow has other numbers.",
    "own_handout": "This bow as the model has it; another bow has other numbers. On a real bow: set, shoot a group, "
    "look, move a little.",
    "bow": "Bow: {name}, target at {distance}",
    "skip": "Skip to the pictures",
    "lessons": "Lessons",
    "lesson_up": "1. Up and down",
    "lesson_side": "2. Left and right",
    "controls": "What you change",
    "reset": "Back to today's bow",
    "left_handed": "Left-handed archer",
    "only_sides": "For a left-handed archer only left and right change. Everything up and down stays as it is.",
    "sight_title": "Sight locked",
    "sight": "The sight was set once, so that a fletched arrow hits the centre of the target with today's parts and "
    "the locators where bare and fletched come together. No slider touches it.",
    "slider_reading": "Locators, by the square",
    "slider_split": "Tiller split (upper less lower)",
    "slider_slope": "Slope of the nock's floor",
    "slider_spine": "Shaft (static spine)",
    "slider_rest": "Spring of the rest",
    "slider_preload": "Preload of the side support",
    "ends_reading": "low|high",
    "ends_split": "less|more",
    "ends_slope": "leans back|leans forward",
    "ends_spine": "stiff|weak",
    "ends_rest": "soft|stiff",
    "ends_preload": "soft|hard",
    "reading_underside": "to the underside of the nock",
    "reading_top": "to the top of the nock",
    "flying": "Three arrows at once",
    "play": "Fly",
    "again": "Fly again",
    "under_inch": "under 1/32 in",
    "time_now": "{time} s after leaving, {way} m ({yards} yd) on the way",
    "key_points": "where it points",
    "key_goes": "where it goes",
    "key_line": "the way to the centre, drop taken out",
    "not_climbing": "Nose up is not climbing: an arrow can point up and still go level, or sink.",
    "not_drifting": "Nose left is not going left: an arrow can point left and still go straight on, or to the right.",
    "lane_low": "Locators low",
    "lane_still": "Bare and fletched together",
    "lane_still_least": "Bare and fletched nearest here",
    "lane_high": "Locators high",
    "lane_stiff": "Stiffer shaft",
    "lane_today": "Your shaft",
    "lane_weak": "Weaker shaft",
    "lane_fletched": "Fletched",
    "lane_bare": "Bare shaft",
    "at_bow": "bow",
    "at_target": "target",
    "enlarged_up": "up-down x{times}",
    "enlarged_side": "left-right x{times}, left is up",
    "true_size": "the same flight, true size (x1)",
    "close": "close up, angles x{times}",
    "close_true": "true angles (x1)",
    "when_leaves": "As it leaves: {nose}; {way}.",
    "when_flies": "On its way: {nose}; {way}.",
    "when_lands": "As it lands: {nose}; {way}.",
    "nose_up": "nose up, it points {angle} above where it goes",
    "nose_down": "nose down, it points {angle} below where it goes",
    "nose_left": "nose left, it points {angle} to the left of where it goes",
    "nose_right": "nose right, it points {angle} to the right of where it goes",
    "nose_along": "it points where it goes",
    "goes_up": "it is climbing against the line",
    "goes_down": "it is sinking against the line",
    "goes_left": "it is going left of the line",
    "goes_right": "it is going right of the line",
    "goes_along": "it keeps to the line",
    "together_heading": "Bare beside fletched, with the settings above",
    "together_lead": "The same bow and the same sight, once with fletching and once without (taped to the same mass). "
    "Fletching pulls the tail in behind the point. A bare shaft is steered by the way it left.",
    "where_heading": "Where they hit, and what the square shows",
    "target_label": "Target face: fletched and bare hits",
    "target_key": "The face is 40 cm (15 3/4 in) across, drawn to scale. Round marks: fletched. Diamonds: bare.",
    "target_marks": "Large marks: your settings. Small marks: the three arrows, in their colours.",
    "target_up_only": "Left and right are taken out in this lesson.",
    "target_pin": "The cross in the middle is where the locked sight points.",
    "square_label": "The square on the string, with the nock and the readings",
    "square_key": "Height to scale, length not. Zero is the lower edge of the square's arm, on the rest. Triangles: "
    "the three arrows' readings, {edge}. Bold black line: yours.",
    "still_now": "Bare and fletched together at {reading} now",
    "bare_now": "Bare shafts, beside fletched ones: {bare}",
    "still_none": "No reading from {low} to {high} brings bare and fletched together now",
    "still_means": "Together means: they hit at one height, the difference of drag allowed for. The fletched arrow "
    "swings a little even there.",
    "fact_reading": "Your reading",
    "fact_top": "to the top of the nock",
    "fact_underside": "to the underside of the nock",
    "fact_axis": "nock's axis above square",
    "fact_height": "Bare shaft",
    "fact_side": "Bare shaft",
    "fact_lands": "Fletched arrow",
    "fact_attack": "As it leaves",
    "fact_move": "What to do",
    "above": "{length} above the fletched one",
    "below": "{length} below the fletched one",
    "level_with": "level with the fletched one",
    "above_centre": "{length} above the centre",
    "below_centre": "{length} below the centre",
    "left_of_centre": "{length} to the left of the centre",
    "right_of_centre": "{length} to the right of the centre",
    "at_centre": "at the centre",
    "attack_up": "nose up {angle}: tail low",
    "attack_down": "nose down {angle}: tail high",
    "attack_left": "nose {angle} to the left",
    "attack_right": "nose {angle} to the right",
    "attack_none": "straight",
    "move_up": "Bare high: locators UP, a little at a time.",
    "move_down": "Bare low: locators DOWN, a little at a time.",
    "move_none": "Bare with fletched: leave the locators alone.",
    "move_lies": "This bare shaft misleads: its tail strikes the rest on the way out. Begin with the locators high, "
    "and come down.",
    "change_left": "{length} further left than with today's bow",
    "change_right": "{length} further right than with today's bow",
    "change_none": "as with today's bow",
    "side_doubt": "Where the shaft lands left or right depends on how the fingers roll off the string, and that is "
    "poorly known. So this page shows what a change does. Trust that, not the places drawn.",
    "questions_heading": "Questions",
    "question_1": "The bare shaft hits above the fletched ones. Which way do the locators go?",
    "answer_1": "Up. Bare high means that the arrow left with its tail low. Higher locators lift the tail.",
    "question_2": "An arrow points up just after it has left. Is it climbing?",
    "answer_2": "Not for that reason. Where it goes is one thing, where it points another. Look at the two arrows "
    "drawn on it: their difference is the swing.",
    "question_3": "Why is the sight locked on this page?",
    "answer_3": "A moved sight moves fletched and bare shafts together. It cannot bring them together, so it would "
    "only hide what the locators do.",
    "question_4": "The drop over the whole way is {drop}. Why does no picture show it?",
    "answer_4": "Every arrow falls, well tuned or not. Porpoising is what is left once the fall is taken out.",
    "question_5": "Is the swing as large as it looks here?",
    "answer_5": "No. The strips are enlarged up and down, by the number printed. Beside each stands the same flight in "
    "true size.",
    "question_6": "Move the slope of the nock's floor. What happens to the reading that brings bare and fletched "
    "together?",
    "answer_6": "It moves too. Reading, nock, tiller and shaft work together: after any change, shoot bare shafts "
    "again.",
    "question_7": "Does the height of the locators take a bare shaft back that lands to the left?",
    "answer_7": "No. Move the locators and look at lesson 2: left and right hardly change. Shaft, point and side "
    "support do that.",
    "show_answer": "Answer",
    "about_heading": "How far to believe this page",
    "about": "Behind the sliders stand {shots} computed shots, and a smooth curve through them. It was checked against "
    "{fresh} fresh shots that it had not seen. 95 of 100 are met at least this well, as a share of the whole range:",
    "about_number": "number",
    "about_range": "range",
    "about_usual": "95 of 100 within",
    "about_worst": "worst",
    "missed_height": "bare above fletched",
    "missed_side": "bare beside fletched",
    "missed_lands": "fletched, height",
    "missed_lands_beside": "fletched, sideways",
    "missed_attack": "nose up or down as it leaves",
    "missed_side_attack": "nose left or right as it leaves",
    "about_jumps": "The worst are mostly where the shaft comes down on the rest again on its way out, or strikes it: "
    "there a small move makes a large difference, on a bow as on this page.",
    "about_over": "More than 2 % off: {numbers}. Take no small difference of it from this page.",
    "about_flight": "Each flight is computed on this page from how the arrow leaves: weight, drag, and the air's force "
    "on shaft and fletching.",
    "about_left_out": "Left out: wind across, spin, bent shafts. Draw weight and fingers have no slider: more weight "
    "is nothing to try out, and release comes with practice and a coach.",
    "caution": "Bare shafts: near only (10 to 18 m first), a large butt, nobody behind it, shafts and nocks checked "
    "before each end. Range rules and your coach come first. Never loose a bow without an arrow.",
    "print": "Print the handout",
    "handout_title": "Porpoising: the locators and the bare shaft",
    "handout_lead": "The same bow three times, only the locators moved. Fall by weight taken out, up-down x{times}; "
    "the thin strip below each is the same flight in true size (x1). Solid arrow: where it points. Dashed arrow: where "
    "it goes.",
    "handout_arrow": "arrow",
    "handout_reading": "reading",
    "handout_leaves": "leaves",
    "handout_bare": "bare shaft at {distance}",
    "handout_rule": "Bare high: locators UP. Bare low: locators DOWN. Small moves, then shoot again. Brace height and "
    "nock fit are checked first.",
    "handout_ask": "Answer in your own words:",
    "live": "{still}. At your reading of {reading}, the bare shaft: {bare}.",
    "landed": "All have landed.",
}


def checked_texts(texts: Mapping[str, str]) -> Mapping[str, str]:
    """A table of texts that has every sentence, with what is filled into it.

    Raises
    ------
    SetupError
        If one is missing or unknown, or holds other braces or another number of ends than in English.
    """
    return checked(texts, ENGLISH, "archerysim.show.lesson.texts.ENGLISH")
