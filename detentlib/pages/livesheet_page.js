// The page: boxes and sliders, one redraw a frame, and the knife file.

const byId = id => document.getElementById(id);
const write = (element, text) => { if (element.textContent !== text) element.textContent = text; };
const clean = value => Number(value.toFixed(9));
const sheet = {inch: 0, span: 0}; // and the numbers that move, put in by `reset`
const turnBox = byId("turn-box"), turnSlide = byId("turn-slide");
const boxes = DATA.movers.map((each,
  i) => ({...each, box: byId(`box-${i}`), slide: byId(`slide-${i}`),
  name: document.querySelector(`label[for=box-${i}]`)}));

/** The knife of the library with these numbers, as feelOf wants it. */
function knifeWith(values, second) {
  const knife = structuredClone(DATA.knife);
  for (const [path, value] of Object.entries(values)) {
    const steps = path.split(/[.[\]]+/), last = steps.pop();
    steps.reduce((part, step) => part[step], knife)[last] = value;
  }
  return second ? knife : {...knife, balls: knife.balls.slice(0, 1), second_bar: null};
}

/** The first number that cannot be by itself or beside the others of its ball, or null. */
function misfit(knife, values, second) {
  for (const {path: where, rule, sane, slips, second: ofSecond} of DATA.movers) {
    if (!(where in values) || (ofSecond && !second)) continue;
    const value = values[where], fits = size => !sane || (sane[0] <= size && size <= sane[1]);
    if (!Number.isFinite(value)) return {where, limit: "empty"};
    if ((rule === "positive" && value <= 0) || (rule === "not negative" && value < 0)) return {where, limit: rule};
    const slip = fits(Math.abs(value)) ? undefined
      : Object.keys(slips).find(unit => fits(Math.abs(value) * slips[unit]));
    if (slip) return {where, limit: slip === "in" ? "inches" : "slip"};
  }
  for (const [i, {recess, protrusion, diameter, track_radius}] of knife.balls.entries()) {
    if (Math.hypot(recess.rest_offset,
      recess.off_track) >= rimRadius(recess)) return {where: `balls[${i}].recess.rest_offset`, limit: "land"};
    if (protrusion >= diameter) return {where: `balls[${i}].protrusion`, limit: "out"};
    if (outlineRadius(recess) >= track_radius + recess.off_track) return {where: `balls[${i}].track_radius`,
      limit: "pivot"};
  }
  return null;
}

/** What a setting feels like; `refused` where it cannot be. */
function tried(values, second) {
  const knife = knifeWith(values, second), wrong = misfit(knife, values, second);
  if (wrong) return {refused: wrong};
  const found = feelOf(knife);
  if (found.limits.length) return {refused: found.limits[0]};
  const off = knife.balls.findIndex(ball => ball.run_off_deg !== null && ball.run_off_deg <= found.break_out_deg);
  return off < 0 ? found : {refused: {where: `balls[${off}].track_radius`, limit: "edge",
    value: knife.balls[off].run_off_deg}};
}

const gapOf = (knife, {bars: [bar]}) => knife.bars[0].parallel_gap + bar.psi * knife.bars[0].arm;
const forceOf = (knife, {torque}) => F.F5({torque, arm: knife.blade.tab_arm});
/** Lift of a ball as it is seen at ball 1: there for one on the same bar. */
const liftOf = (knife, {balls}, i) => {
  const [first] = knife.bars;
  return first.members.includes(i) ? first.parallel_gap + balls[i].psi * first.arm : balls[i].lift.demand;
};

/** Axes and scale that hold this knife with room to move; they then stay put. */
function fit({knife, break_out_deg, break_force, letback_force, rest_load, ride_load}) {
  const ends = knife.balls.map(ball => ball.run_off_deg ?? Infinity), {balls, blade: {tab_arm}} = knife;
  const back = forceOf(knife, state(knife, knife.breakOut, -1));
  const widest = Math.max(...DATA.knife.balls.map((_, i) => sheet.values[`balls[${i}].diameter`]));
  sheet.span = Math.min(Math.ceil(break_out_deg * 1.3 * 2) / 2, ...ends);
  sheet.section = {radius: 1.15 * widest / 2,
    force: 1.25 * Math.max(rest_load, ride_load, break_force * tab_arm / balls[0].track_radius)};
  sheet.lifts = {kind: "size", low: 0, high: 1.3 * Math.max(...balls.map(ball => ball.protrusion))};
  sheet.forces = {kind: "force", low: Math.min(1.6 * back, -0.12 * break_force),
    high: 1.45 * Math.max(break_force, letback_force || 0)};
  Object.assign(turnSlide, {min: 0, max: sheet.span, step: 0.02});
  turnTo(Math.min(sheet.angle, sheet.span));
}

/** States of what `feelOf` found, opening and letting back, at the angles of a curve [deg]; worked out once for each span. */
function walked(found) {
  const {knife, take_up_deg, handovers, walk} = found, {span} = sheet;
  if (walk?.span === span) return walk;
  const turns = [take_up_deg, ...handovers.flatMap(({start, end}) => [degrees(start), degrees(end)])];
  const angles = [...spread(0, span, 161), ...turns.filter(turn => turn <= span)].sort((a, b) => a - b);
  const [opening, back] = [1, -1].map(sense => angles.map(turn => state(knife, radians(turn), sense)));
  return found.walk = {span, angles, opening, back};
}

function picture(found) {
  const {knife} = found, {span, angle} = sheet, [at, shutting] = [1, -1].map(sense => state(knife, radians(angle), sense));
  const handovers = found.handovers.map(each => [degrees(each.start), degrees(each.end)]);
  const {angles, opening, back} = walked(found);
  const line = (name, look, of, all, here) =>
    ({name, look, angles, heights: all.map(each => of(knife, each)), now: here && of(knife, here)});
  const differs = sheet.second !== DATA.second || DATA.movers.some(({path, value}) => sheet.values[path] !== value);
  const first = differs ? walked(asItCame) : {};
  const before = of => differs
    ? [{look: "before", angles: first.angles, heights: first.opening.map(each => of(asItCame.knife, each))}] : [];
  const balls = knife.balls.map((_, i) =>
    line(`ball ${i + 1}`, `ball-${i}`, (_, each) => liftOf(knife, each, i), opening, at));
  const lifts = [line("bar", "envelope", gapOf, opening), ...balls];
  const forces = [line("opening", "opening", forceOf, opening, at), line("letting back", "back", forceOf, back, shutting)];
  const told = handovers.length ? `Handover at ${handovers.map(stretch).join(" and ")}.` : "No handover.";
  byId("sections").innerHTML = knife.balls.map((_, i) => section(knife, at, i, sheet.section)).join("");
  byId("plots").innerHTML = plot("Lift at ball 1", sheet.lifts, [...before(gapOf), ...lifts], handovers,
    `Lift of each ball over the blade angle, the bar on the higher one. ${told}`)
    + plot("Force at the tab", sheet.forces, [...before(forceOf), ...forces], handovers,
      `Force at the tab over the blade angle, opening and letting back. Break force ${say(found.break_force, "force")}. ${told}`);
  const leaves = ({low, high}) => ({heights}) =>
    heights.some(value => value > high + 0.02 * Math.abs(high) || value < low - 0.02 * Math.abs(low));
  const beyond = lifts.some(leaves(sheet.lifts)) || forces.some(leaves(sheet.forces)) || found.break_out_deg > span;
  byId("grey").hidden = !differs;
  write(byId("beyond"), beyond ? "A curve runs out of its frame." : "");
  byId("facts").innerHTML = facts(found).map(([name, value]) =>
    `<div><dt>${name}</dt><dd>${value}</dd></div>`).join("");
  write(byId("knife-file"), knifeFile());
  tell(now(found, at, shutting), warnings(found));
}

let askedLast = "", result = null, waiting = false, fitted = false, speaking = 0;

function redraw() {
  if (!waiting) requestAnimationFrame(draw);
  waiting = true;
}

function draw() {
  waiting = false;
  const asked = JSON.stringify([sheet.values, sheet.second]);
  // the blade angle alone changes nothing of the knife
  if (asked !== askedLast) result = tried(sheet.values, sheet.second);
  askedLast = asked;
  byId("group-2").disabled = !sheet.second;
  for (const id of ["stage", "knife-file"]) byId(id).classList.toggle("old", "refused" in result);
  if (result.refused) return tell(refusal(result.refused));
  if (!fitted) fit(result);
  fitted = true;
  picture(result);
}

/** The answer in words, and what deserves a look: seen at once, spoken when the hand rests. */
function tell(text, notes = []) {
  write(byId("answer"), text);
  byId("notes").innerHTML = notes.map(said => `<li>${said}</li>`).join("");
  clearTimeout(speaking);
  speaking = setTimeout(() => write(byId("spoken"), [text, ...notes].join(" ")), 500);
}

/** The text of the knife file with the numbers that moved. */
function knifeFile() {
  const own = Object.fromEntries(DATA.movers.map(({path, value}) => [path, value]));
  const moved = path => path in own && sheet.values[path] !== own[path];
  const lines = DATA.file[sheet.second ? 1 : 0], listed = lines.some(({assumed}) => assumed && !moved(assumed));
  const kept = lines.filter(({assumed, list, extra}) => !(assumed && moved(assumed)) && !(list && !listed)
    && !(extra && !moved(extra)));
  return kept.map(({text, path}) => `${path ? text.replace("{}", sheet.values[path]) : text}\n`).join("");
}

/** What a slider says of itself: what stands in its box, with the unit. */
const voice = (slide, box, unit) => slide.setAttribute("aria-valuetext", `${box.value} ${unit}`.trim());

function turnTo(angle, from = null) {
  sheet.angle = clip(angle, 0, sheet.span);
  for (const input of [turnBox, turnSlide]) if (input !== from) input.value = clean(sheet.angle);
  voice(turnSlide, turnBox, "°");
}

/** Labels, ends and values of every box and slider in the shown unit. */
function relabel() {
  for (const {path, label, kind, lo, hi, step: fine, box, slide, name} of boxes) {
    const [unit, factor, places] = DATA.kinds[kind][sheet.inch], power = 10 ** Math.floor(Math.log10(fine * factor));
    const step = factor === 1 ? fine : power * Math.round(fine * factor / power), shown = sheet.values[path] * factor;
    write(name, unit ? `${label}, ${unit}` : label);
    Object.assign(slide, {min: clean(Math.floor(lo * factor / step) * step),
      max: clean(Math.ceil(hi * factor / step) * step), step: clean(step), value: shown});
    box.value = clean(Number(shown.toFixed(places)));
    voice(slide, box, unit);
  }
  redraw();
}

function reset() {
  Object.assign(sheet, {angle: 0, second: DATA.second,
    values: Object.fromEntries(DATA.movers.map(({path, value}) => [path, value]))});
  byId("second").checked = sheet.second; // a page opened again may remember another choice
  fitted = false;
  relabel();
}

for (const {path, value, kind, box, slide} of boxes) {
  for (const from of [box, slide]) from.addEventListener("input", () => {
    const [unit, factor, places] = DATA.kinds[kind][sheet.inch], typed = from.value.trim(), number = Number(typed);
    // the knife's own number comes back whole, though its box shows it rounded
    const own = Number((value * factor).toFixed(places));
    sheet.values[path] = typed === "" ? NaN : number === own ? value : clean(number / factor);
    if (from === slide) box.value = clean(Number(number.toFixed(places)));
    else if (typed !== "") slide.value = number;
    voice(slide, box, unit);
    redraw();
  });
}
for (const input of [turnBox, turnSlide]) input.addEventListener("input", () => {
  if (input.value.trim() === "" || !Number.isFinite(Number(input.value))) return;
  turnTo(Number(input.value), input);
  redraw();
});
turnBox.addEventListener("change", () => turnTo(sheet.angle));
byId("second").addEventListener("change", event => {
  sheet.second = event.target.checked;
  redraw();
});
byId("units").addEventListener("change", event => {
  sheet.inch = Number(event.target.value);
  relabel();
});
byId("reset").addEventListener("click", reset);
byId("fit").addEventListener("click", () => {
  fitted = false;
  redraw();
});
byId("copy").addEventListener("click", async () => {
  try {
    await navigator.clipboard.writeText(byId("knife-file").textContent);
    write(byId("copied"), "Copied.");
  } catch {
    getSelection().selectAllChildren(byId("knife-file"));
    write(byId("copied"), "The text is selected: copy it with Ctrl+C or Cmd+C.");
  }
});

function reportSelfTest() {
  const {count, settings, refused, worst, wrong} = selfTest(), alarm = byId("wrong");
  const digits = [...String(worst > 0 ? Math.floor(-Math.log10(worst)) : 15)];
  const power = digits.map(digit => "⁰¹²³⁴⁵⁶⁷⁸⁹"[digit]).join("");
  const agrees = `This sheet agrees with the library on ${count} numbers at ${settings} settings to 1 part in 10⁹, `
    + "or of 0.01 N, mm or degree where they are smaller; "
    + `the worst is off by less than 1 part in 10${power}. It refuses the same ${refused} settings that cannot be.`;
  const differs = "This sheet does not agree with the library: do not use its numbers. "
    + `${wrong.length} of its checks failed, the first: ${wrong[0]}.`;
  write(byId("self-test"), wrong.length ? differs : agrees);
  write(alarm, wrong.length ? differs : "");
  alarm.hidden = !wrong.length;
}

const asItCame = feelOf(knifeWith({}, DATA.second));
byId("units").querySelector("input").checked = true;
reset();
setTimeout(reportSelfTest, 50);
