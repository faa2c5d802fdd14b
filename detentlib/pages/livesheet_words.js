// Numbers and states in words, in the units that are shown.

const minus = text => text.replace(/^-/, "−");
const fixed = (value, places) => minus(value.toFixed(places)).replace(/^−(?=[0.]*$)/, "");

function short(value, kind, inch = sheet.inch) {
  const [unit, factor, , places] = DATA.kinds[kind][inch];
  return `${fixed(value * factor, places)}${unit === "°" || unit === "" ? unit : ` ${unit}`}`;
}

/** A force in both units, anything else in the one shown. */
const say = (value, kind) => kind === "force" ? `${short(value, kind)} (${short(value, kind, 1 - sheet.inch)})`
  : short(value, kind);

function touching(knife, {bars, balls}) {
  const carried = balls.map(({load, lift: {touch, phi}}, i) => load > 0
    ? `ball ${i + 1}${knife.balls.length > 1 ? " carries" : ""} ${DATA.touch[touch]}${phi > 0 ? ` at ${short(degrees(phi), "deg")}` : ""}` : "");
  const idle = balls.map(({clearance}, i) => clearance > 0 ? `ball ${i + 1} idle by ${say(clearance, "size")}` : "");
  return [onFace(bars) ? "the bar face lies on the tang" : "", ...carried, ...idle].filter(Boolean).join(", ");
}

const onFace = bars => bars.some(({seats}) => carrierOf(seats) === FACE);

function now({knife, take_up_deg}, at, shutting) {
  const angle = degrees(at.theta), sticks = carrierOf(at.bars[0].seats) !== FACE && take_up_deg - angle > 0.005;
  const [force, back] = [at, shutting].map(({torque}) => F.F5({torque, arm: knife.blade.tab_arm}));
  const open = force >= 0 ? `${say(force, "force")} at the tab opens it further`
    : `it opens further by itself, with ${say(-force, "force")} at the tab`;
  const closes = back > 0 ? `it closes against up to ${say(back, "force")}`
    : `it closes only with ${say(-back, "force")} of help`;
  const said = sticks ? ` The rim sticks up to ${short(take_up_deg, "deg")}, and the bar goes along sideways.` : "";
  return `At ${short(angle, "deg")}: ${touching(knife, at)}; ${open}; ${closes}.${said}`;
}

/** Where a handover is: its angle, or the stretch in which both carry. */
const stretch = ends => [...new Set(ends.map(angle => short(angle, "deg")))].join(" to ");

/** [name, value] of the numbers of the knife as a whole. */
function facts(found) {
  const {letback_force: hold, gauge_letback_force: gaugeHold} = found, arm = found.knife.blade.tab_arm;
  const returns = hold === null ? "not given" : hold > 0 ? say(hold, "force") : "does not return by itself";
  const over = found.handovers.map(({start, end, from, to, before, after}) => {
    const where = stretch([degrees(start), degrees(end)]);
    const way = `${where.includes("to") ? "goes" : "steps"} ${after >= before ? "up" : "down"}`;
    const [low, high] = [before, after].map(torque => short(F.F5({torque, arm}), "force"));
    return `${where}: ball ${from + 1} to ball ${to + 1}, ${way} ${low.split(" ")[0]} → ${high}`;
  });
  const joins = found.joins ? `none, but at ${short(found.take_up_deg, "deg")} another ball comes to carry as well` : "";
  return [
    ["Break force", say(found.break_force, "force")],
    ["Let-back force", returns],
    ["Barrier", short(found.barrier, "mJ")],
    ["Rest offset, bar pressing", found.loaded_offset.map(offset => short(offset, "size")).join(", ")],
    ["Break-out angle", short(found.break_out_deg, "deg")],
    ["A gauge on the whole knife",
      `${short(found.gauge_break_force, "force")} open, ${gaugeHold === null ? "not given" : short(gaugeHold, "force")} back`],
    ["Handover on opening", over.join("\n") || joins || "none"],
  ];
}

/** Sentences about states that are computed but deserve a look. */
function warnings({knife, rest_deg, letback_force, barrier, springs_deg, through, steepest_deg}) {
  const shut = state(knife, 0, -1), {bars, balls} = shut, gap = gapOf(knife, shut), loose = [];
  if (onFace(bars)) {
    loose.push("the bar face lies on the tang at the stop, before the ball has reached its rim: the blade is loose there");
  }
  balls.forEach(({load, lift: {touch}}, i) => {
    if (load <= 0 || touch !== FLOOR) return;
    loose.push(`ball ${i + 1} rests on the floor of its recess, not on the rim: the blade is loose there`);
  });
  const proud = knife.balls.map(({protrusion, diameter}, i) => protrusion > diameter / 2
    && `ball ${i + 1} stands out by more than its radius: a press fit cannot hold it`);
  return [
    ...loose,
    ...proud,
    rest_deg > 0 && !loose.length && `the blade rests ${short(rest_deg, "deg")} off the stop and can rattle there`,
    gap > 0 && gap < LIBRARY.thin_clearance && !loose.length
      && `at rest only ${short(gap, "size")} is left between bar face and tang`,
    steepest_deg > LIBRARY.thin_jam
      && `close to jamming: contact angle and friction angle together make ${short(steepest_deg, "deg")}`,
    isFinite(springs_deg)
      && `at ${short(springs_deg, "deg")} the bar springs sideways all at once, and ${LIBRARY.rough}`,
    ...through.map(i => `ball ${i + 1} comes out through the middle of its recess, and ${LIBRARY.rough}`),
    barrier < 0 && "the barrier is below zero: friction holds this blade, not its recess",
    letback_force === null
      && "off track with this much friction the theory of letting back is not good enough, so none is given",
    letback_force !== null && letback_force <= 0
      && "at rest friction is stronger than the pull of the rim: the blade does not return by itself",
    knife.met.some(others => others.length)
      && "one ball runs near enough to the other's recess to drop into it on the way",
  ].filter(Boolean).map(said => `${said[0].toUpperCase()}${said.slice(1)}.`);
}

const standsAt = value => `the blade stands at ${short(value, "deg")} before the rim lets go, `
  + "past the place where the flat begins: that is felt as a jam. Take less";

const CANNOT = {
  drops: value => `leaves a rim gap of ${short(value, "size")}, not smaller than the ball's radius. `
    + "The ball would drop past its widest part. "
    + "Take a smaller recess, a larger ball or more rest offset",
  jams: value => `makes a contact angle of ${short(degrees(value), "deg")}, `
    + "and with this friction the ball jams or nearly does: "
    + "no push at the tab can be relied on to lift it out. "
    + "Take a smaller recess, more rest offset or less friction",
  slack: value => `has fallen to ${short(value, "force")} by the time the ball is in its seat, `
    + "and a bar that presses with nothing does not hold the blade. "
    + "Take more force, a lower rate or a shallower seat",
  unbalanced: () => "lets the rim push the bar sideways until nothing holds it: the ball would walk through its recess. "
    + "Take less",
  goesAside: value => `lets the bar go aside until ${standsAt(value)}`,
  pushesAside: value => `pushes the bar aside until ${standsAt(value)}`,
  overlap: value => `overlaps that of ball 1: their middles are ${short(value, "size")} apart. `
    + "Take smaller recesses, or track radii further apart",
  edge: value => `would run off the tang at ${short(value, "deg")}, before the balls are on the flat. `
    + "Take a smaller recess or a larger track radius",
  out: () => "is not smaller than the ball's diameter, so the ball would have fallen out of the bar. Take less",
  land: () => "puts the ball on the land beside its recess. "
    + "Take less rest offset and off-track error, or a larger recess",
  empty: () => "is not a number. Type one",
  positive: () => "must be greater than zero",
  "not negative": () => "must not be negative",
  pivot: () => "puts the pivot inside its recess, which the ball would never leave. "
    + "Take a smaller recess or a larger track radius",
  slip: () => "is far from any real size. Was it meant in another unit",
  inches: () => "is far too small for millimetres. If it is in inches, show the sheet in inches first",
};

function refusal({where, limit, value}) {
  const mover = DATA.movers.find(each => each.path === where);
  const name = mover ? mover.label : where.startsWith("balls[") ? `Ball ${Number(where[6]) + 1}: recess` : where;
  return `This cannot be. ${name} ${CANNOT[limit](value)}. The grey picture is the last one that works.`;
}
