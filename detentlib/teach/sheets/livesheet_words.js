// Numbers and states in words, in the units that are shown.

/** Decimals in words, metric and inch; boxes show more. */
const PLACES = {size: [3, 1], arm: [3, 3], force: [2, 2], rate: [2, 1], give: [5, 5], ratio: [3, 3], deg: [2, 2], mJ: [2, 2]};
const PARTNER = {force: true};

const minus = text => text.replace(/^-/, "−");

function fixed(value, places) {
  const text = value.toFixed(places);
  return Number(text) === 0 ? (0).toFixed(places) : minus(text);
}

function short(value, kind, inch = sheet.inch) {
  const [unit, factor] = DATA.kinds[kind][inch];
  return fixed(value * factor, PLACES[kind][inch]) + (unit === "°" || unit === "" ? unit : ` ${unit}`);
}

/** A force in both units, anything else in the one shown. */
function say(value, kind) {
  return PARTNER[kind] ? `${short(value, kind)} (${short(value, kind, 1 - sheet.inch)})` : short(value, kind);
}

function touching(knife, at) {
  const said = at.carriers.includes(FACE) ? ["the bar face lies on the tang"] : [];
  knife.balls.forEach((_, i) => at.loads[i] > 0 && said.push(carries(knife, at, i)));
  knife.balls.forEach((_, i) => {
    if (at.clearances[i] > 0) said.push(`ball ${i + 1} idle by ${say(at.clearances[i], "size")}`);
  });
  return said.join(", ");
}

function carries(knife, at, i) {
  const {touch, phi} = at.lifts[i], angle = phi > 0 ? ` at ${short(degrees(phi), "deg")}` : "";
  return `ball ${i + 1}${knife.balls.length > 1 ? " carries" : ""} ${DATA.touch[touch]}${angle}`;
}

function atTab(knife, at) {
  const [force, back] = [at, state(knife, at.theta, -1)].map(each => F.F5({torque: each.torque, arm: knife.blade.tab_arm}));
  const open = force >= 0 ? `${say(force, "force")} at the tab opens it further` : `it opens further by itself, with ${say(-force, "force")} at the tab`;
  const closes = back > 0 ? `it closes against up to ${say(back, "force")}` : `it closes only with ${say(-back, "force")} of help`;
  return `${open}; ${closes}`;
}

function now({knife, take_up_deg}, at) {
  const angle = degrees(at.theta), sticks = at.carriers[0] !== FACE && take_up_deg - angle > 0.005;
  const said = sticks ? ` The rim sticks up to ${short(take_up_deg, "deg")}, and the bar goes along sideways.` : "";
  return `At ${short(angle, "deg")}: ${touching(knife, at)}; ${atTab(knife, at)}.${said}`;
}

/** Where a handover is: its angle, or the stretch in which both carry. */
function stretch([start, end]) {
  const [from, to] = [start, end].map(angle => short(angle, "deg"));
  return from === to ? from : `${from} to ${to}`;
}

/** [name, value] of the numbers of the knife as a whole. */
function facts(found) {
  const {letback_force: hold, gauge_letback_force: gaugeHold} = found, arm = found.knife.blade.tab_arm;
  const returns = hold === null ? "not given" : hold > 0 ? say(hold, "force") : "does not return by itself";
  const gauge = `${short(found.gauge_break_force, "force")} open, ${gaugeHold === null ? "not given" : short(gaugeHold, "force")} back`;
  const over = found.handovers.map(each => {
    const [before, after] = [each.before, each.after].map(value => short(value / arm, "force"));
    const where = stretch([degrees(each.start), degrees(each.end)]), [steps, way] = [where.includes("to") ? "goes" : "steps", each.after >= each.before ? "up" : "down"];
    return `${where}: ball ${each.from + 1} to ball ${each.to + 1}, ${steps} ${way} ${before.split(" ")[0]} → ${after}`;
  });
  return [
    ["Break force", say(found.break_force, "force")],
    ["Let-back force", returns],
    ["Barrier", short(found.barrier, "mJ")],
    ["Rest offset, bar pressing", found.loaded_offset.map(offset => short(offset, "size")).join(", ")],
    ["Break-out angle", short(found.break_out_deg, "deg")],
    ["A gauge on the whole knife", gauge],
    ["Handover on opening", over.length ? over.join("\n") : "none"],
  ];
}

/** Sentences about states that are computed but deserve a look. */
function warnings(found) {
  const {knife} = found, at = state(knife, 0, -1), said = [];
  if (at.carriers.includes(FACE)) said.push("the bar face lies on the tang at the stop, before the ball has reached its rim: the blade is loose there");
  const floored = at.loads.map((load, i) => load > 0 && at.lifts[i].touch === FLOOR);
  floored.forEach((rests, i) => rests && said.push(`ball ${i + 1} rests on the floor of its recess, not on the rim: the blade is loose there`));
  knife.balls.forEach((ball, i) => {
    if (ball.protrusion > ball.diameter / 2) said.push(`ball ${i + 1} stands out by more than its radius: a press fit cannot hold it`);
  });
  if (found.rest_deg > 0 && !said.length) said.push(`the blade rests ${short(found.rest_deg, "deg")} off the stop and can rattle there`);
  if (found.letback_force === null) said.push("off track with this much friction the theory of letting back is not good enough, so none is given");
  else if (found.letback_force <= 0) said.push("at rest friction is stronger than the pull of the rim: the blade does not return by itself");
  if (knife.met.some(others => others.length)) said.push("one ball runs near enough to the other's recess to drop into it on the way");
  return said.map(each => `Note: ${each}.`).join(" ");
}

const CANNOT = {
  drops: value => `leaves a rim gap of ${short(value, "size")}, not smaller than the ball's radius. The ball would drop past its widest part. `
    + "Take a smaller recess, a larger ball or more rest offset",
  jams: value => `makes a contact angle of ${short(degrees(value), "deg")}, and with this friction the ball jams or nearly does: `
    + "no push at the tab can be relied on to lift it out. "
    + "Take a smaller recess, more rest offset or less friction",
  slack: value => `has fallen to ${short(value, "force")} by the time the ball is in its seat, and a bar that presses with nothing does not hold the blade. `
    + "Take more force, a lower rate or a shallower seat",
  unbalanced: () => "lets the rim push the bar sideways until nothing holds it: the ball would walk through its recess. Take less",
  overlap: value => `overlaps that of ball 1: their middles are ${short(value, "size")} apart. Take smaller recesses, or track radii further apart`,
  edge: value => `would run off the tang at ${short(value, "deg")}, before the balls are on the flat. Take a smaller recess or a larger track radius`,
  out: () => "is not smaller than the ball's diameter, so the ball would have fallen out of the bar. Take less",
  land: () => "puts the ball on the land beside its recess. Take less rest offset and off-track error, or a larger recess",
  empty: () => "is not a number. Type one",
  positive: () => "must be greater than zero",
  "not negative": () => "must not be negative",
  pivot: () => "puts the pivot inside its recess, which the ball would never leave. Take a smaller recess or a larger track radius",
  slip: () => "is far from any real size. Was it meant in another unit",
  inches: () => "is far too small for millimetres. If it is in inches, show the sheet in inches first",
};

function refusal({where, limit, value}) {
  const mover = DATA.movers.find(each => each.path === where);
  const name = mover ? mover.label : where.startsWith("balls[") ? `Ball ${Number(where[6]) + 1}: recess` : where;
  return `This cannot be. ${name} ${CANNOT[limit](value)}. The grey picture is the last one that works.`;
}
