// The page: boxes and sliders, one redraw a frame, and the knife file.

const sheet = {inch: 0, angle: 0, second: DATA.second, values: Object.fromEntries(DATA.movers.map(each => [each.path, each.value]))};
const byId = id => document.getElementById(id);
const clean = value => Number(value.toFixed(9));
const ofSecond = path => path.startsWith("balls[1]") || path.startsWith("second_bar");

/** The knife of the library with these numbers, as feelOf wants it. */
function knifeWith(values, second) {
  const knife = structuredClone(DATA.knife);
  for (const [path, value] of Object.entries(values)) {
    const steps = path.split(/[.[\]]+/), last = steps.pop();
    steps.reduce((part, step) => part[step], knife)[last] = value;
  }
  if (!second) Object.assign(knife, {balls: knife.balls.slice(0, 1), second_bar: null});
  return knife;
}

/** The first number that cannot be by itself or beside the others of its ball, or null. */
function misfit(knife, values) {
  for (const {path, rule, sane, slips} of DATA.movers) {
    if (!(path in values) || (knife.balls.length < 2 && ofSecond(path))) continue;
    const value = values[path], wrong = limit => ({where: path, limit, value});
    if (!Number.isFinite(value)) return wrong("empty");
    if ((rule === "positive" && value <= 0) || (rule === "not negative" && value < 0)) return wrong(rule);
    const fits = size => !sane || (sane[0] <= size && size <= sane[1]);
    const slip = fits(Math.abs(value)) ? undefined : Object.keys(slips).find(unit => fits(Math.abs(value) * slips[unit]));
    if (slip) return wrong(slip === "in" ? "inches" : "slip");
  }
  for (const [i, {recess, protrusion, diameter, track_radius}] of knife.balls.entries()) {
    if (Math.hypot(recess.rest_offset, recess.off_track) >= rimRadius(recess)) return {where: `balls[${i}].recess.rest_offset`, limit: "land"};
    if (protrusion >= diameter) return {where: `balls[${i}].protrusion`, limit: "out"};
    if (outlineRadius(recess) >= track_radius + recess.off_track) return {where: `balls[${i}].track_radius`, limit: "pivot"};
  }
  return null;
}

/** What a setting feels like; `refused` where it cannot be. */
function tried(values, second) {
  const knife = knifeWith(values, second), wrong = misfit(knife, values);
  if (wrong) return {refused: wrong};
  const found = feelOf(knife);
  if (found.limits.length) return {refused: found.limits[0]};
  const off = knife.balls.findIndex(ball => ball.run_off_deg !== null && ball.run_off_deg <= found.break_out_deg);
  return off < 0 ? found : {refused: {where: `balls[${off}].track_radius`, limit: "edge", value: knife.balls[off].run_off_deg}};
}

const sections = [0, 1].map(i => new Section(byId("sections"), i));
const lifts = new Plot(byId("plots"), "Lift at ball 1", "size", [
  {name: "bar", colour: LOOK.envelope, ink: LOOK.grey, dash: "", width: 8, dot: false},
  {name: "ball 1", colour: LOOK.balls[0], dash: DASHES[0], width: 2},
  {name: "ball 2", colour: LOOK.balls[1], dash: DASHES[1], width: 2},
]);
const forces = new Plot(byId("plots"), "Force at the tab", "force", [
  {name: "opening", colour: LOOK.opening, dash: "", width: 2},
  {name: "letting back", colour: LOOK.back, dash: "9 4", width: 2},
]);

/** Axes and scale that hold this knife with room to move; they then stay put. */
function fit(found) {
  const {knife} = found, radius = Math.max(...DATA.knife.balls.map((_, i) => sheet.values[`balls[${i}].diameter`] / 2));
  const ends = knife.balls.flatMap(ball => ball.run_off_deg === null ? [] : [ball.run_off_deg]);
  sheet.span = Math.min(Math.ceil(found.break_out_deg * 1.3 * 2) / 2, ...ends);
  const most = Math.max(found.rest_load, found.ride_load, found.break_force * knife.blade.tab_arm / knife.balls[0].track_radius);
  for (const section of sections) section.fit(1.15 * radius, 1.25 * most);
  lifts.fit(sheet.span, 0, 1.3 * Math.max(...knife.balls.map(ball => ball.protrusion)));
  const back = state(knife, knife.breakOut, -1).torque / knife.blade.tab_arm;
  forces.fit(sheet.span, Math.min(1.6 * back, -0.12 * found.break_force), 1.45 * Math.max(found.break_force, found.letback_force || 0));
  set(turnSlide, {min: 0, max: sheet.span, step: 0.02});
  sheet.angle = Math.min(sheet.angle, sheet.span);
  for (const plot of [lifts, forces]) plot.relabel();
}

const boxes = DATA.movers.map((each, i) => ({...each, box: byId(`box-${i}`), slide: byId(`slide-${i}`), name: document.querySelector(`label[for=box-${i}]`)}));
const turnBox = byId("turn-box"), turnSlide = byId("turn-slide");

/** What a slider says of itself: what stands in its box, with the unit. */
const voice = (slide, box, unit) => set(slide, {"aria-valuetext": `${box.value} ${unit}`.trim()});

/** Labels, ends and values of every box and slider in the shown unit. */
function relabel() {
  for (const each of boxes) {
    const [unit, factor, places] = DATA.kinds[each.kind][sheet.inch];
    write(each.name, unit ? `${each.label}, ${unit}` : each.label);
    const power = 10 ** Math.floor(Math.log10(each.step * factor)), step = factor === 1 ? each.step : power * Math.round(each.step * factor / power);
    set(each.slide, {min: clean(Math.floor(each.lo * factor / step) * step), max: clean(Math.ceil(each.hi * factor / step) * step), step: clean(step)});
    each.box.value = clean(Number((sheet.values[each.path] * factor).toFixed(places)));
    each.slide.value = sheet.values[each.path] * factor;
    voice(each.slide, each.box, unit);
  }
  turnBox.value = clean(sheet.angle);
  turnSlide.value = sheet.angle;
  voice(turnSlide, turnBox, "°");
}

let last = null, drawn = "", result = null, waiting = false, speaking = 0;

function redraw() {
  if (!waiting) requestAnimationFrame(draw);
  waiting = true;
}

function draw() {
  waiting = false;
  const now = JSON.stringify([sheet.values, sheet.second]);
  if (now !== drawn) result = tried(sheet.values, sheet.second); // the blade angle alone changes nothing of the knife
  drawn = now;
  const found = result;
  byId("group-2").disabled = !sheet.second;
  byId("stage").classList.toggle("old", "refused" in found);
  byId("knife-file").classList.toggle("old", "refused" in found);
  if (found.refused) {
    tell(refusal(found.refused));
    return;
  }
  if (last === null) fit(found);
  last = found;
  picture(found);
  write(byId("knife-file"), knifeFile());
}

/** The answer in words: seen at once, spoken when the hand rests. */
function tell(text) {
  write(byId("answer"), text);
  clearTimeout(speaking);
  speaking = setTimeout(() => write(byId("spoken"), text), 500);
}

function picture(found) {
  const {knife} = found, at = state(knife, radians(sheet.angle));
  sections.forEach((section, i) => {
    show(section.svg, i < knife.balls.length);
    if (i < knife.balls.length) section.draw(knife, at);
  });
  drawStart();
  const handovers = found.handovers.map(each => [degrees(each.start), degrees(each.end)]);
  const turns = [found.take_up_deg, ...handovers.flat()].filter(angle => angle <= sheet.span);
  const angles = [...new Set([...spread(0, sheet.span, POINTS), ...turns, sheet.angle])].sort((a, b) => a - b), place = angles.indexOf(sheet.angle);
  const [states, back] = [1, -1].map(sense => angles.map(angle => state(knife, radians(angle), sense))), leaf = knife.bars[0];
  const seenAtFirst = i => states.map(each => leaf.members.includes(i) ? leaf.parallel + each.psis[i] * leaf.arm : each.lifts[i].demand);
  const words = now(found, at), told = handovers.length ? `Handover at ${handovers.map(stretch).join(" and ")}.` : "No handover.";
  const beyond = [
    lifts.draw(angles, [barLift(knife, states), seenAtFirst(0), knife.balls.length > 1 ? seenAtFirst(1) : null], place, handovers,
      `Lift of each ball over the blade angle, the bar on the higher one. ${told}`),
    forces.draw(angles, [states, back].map(each => tabForce(knife, each)), place, handovers,
      `Force at the tab over the blade angle, opening and letting back. Break force ${say(found.break_force, "force")}. ${told}`),
  ];
  write(byId("beyond"), beyond.some(Boolean) || found.break_out_deg > sheet.span ? "A curve runs out of its frame." : "");
  const list = facts(found), cells = byId("facts").children;
  if (!cells.length) list.forEach(([name]) => byId("facts").insertAdjacentHTML("beforeend", `<div><dt>${name}</dt><dd></dd></div>`));
  list.forEach(([, value], k) => write(cells[k].lastElementChild, value));
  tell([words, warnings(found)].filter(Boolean).join(" "));
}

const barLift = (knife, states) => states.map(at => knife.bars[0].parallel + at.barAngles[0] * knife.bars[0].arm);
const tabForce = (knife, states) => states.map(at => F.F5({torque: at.torque, arm: knife.blade.tab_arm}));
const asItCame = prepared(knifeWith({}, DATA.second));
let started = {};

/** The knife as it came, in grey, once something differs from it. */
function drawStart() {
  const differs = sheet.second !== DATA.second || DATA.movers.some(each => sheet.values[each.path] !== each.value);
  if (differs && started.span !== sheet.span) {
    const angles = spread(0, sheet.span, POINTS);
    started = {span: sheet.span, angles, states: angles.map(angle => state(asItCame, radians(angle)))};
  }
  lifts.drawStart(started.angles, differs && barLift(asItCame, started.states));
  forces.drawStart(started.angles, differs && tabForce(asItCame, started.states));
  show(byId("grey"), differs);
}

/** The text of the knife file with the numbers that moved. */
function knifeFile() {
  const moved = path => sheet.values[path] !== DATA.movers.find(each => each.path === path)?.value;
  const known = path => path in sheet.values && moved(path);
  const kept = DATA.file.filter(piece => sheet.second || !piece.second);
  const listed = kept.some(piece => piece.assumed && !known(piece.assumed));
  return kept.filter(piece => !(piece.moved && !moved(piece.path)) && !(piece.list && !listed) && !(piece.assumed && known(piece.assumed)))
    .map(piece => piece.path ? piece.text.replace("{}", String(sheet.values[piece.path])) : piece.text).join("\n") + "\n";
}

for (const each of boxes) {
  const moved = (from, to) => () => {
    const [unit, factor, places] = DATA.kinds[each.kind][sheet.inch], typed = from.value.trim();
    // the knife's own number comes back whole, though its box shows it rounded
    const own = Number((each.value * factor).toFixed(places));
    sheet.values[each.path] = typed === "" ? NaN : Number(typed) === own ? each.value : clean(Number(typed) / factor);
    if (to === each.box) to.value = clean(Number(Number(typed).toFixed(places)));
    else if (typed !== "") to.value = typed;
    voice(each.slide, each.box, unit);
    redraw();
  };
  each.box.addEventListener("input", moved(each.box, each.slide));
  each.slide.addEventListener("input", moved(each.slide, each.box));
}

function turn(from, to) {
  const angle = Number(from.value);
  if (from.value.trim() === "" || !Number.isFinite(angle)) return;
  sheet.angle = clip(angle, 0, sheet.span);
  to.value = sheet.angle;
  voice(turnSlide, turnBox, "°");
  redraw();
}

turnBox.addEventListener("input", () => turn(turnBox, turnSlide));
turnSlide.addEventListener("input", () => turn(turnSlide, turnBox));
turnBox.addEventListener("change", relabel);
byId("second").addEventListener("change", event => {
  sheet.second = event.target.checked;
  redraw();
});
byId("units").addEventListener("change", event => {
  sheet.inch = Number(event.target.value);
  relabel();
  for (const plot of [lifts, forces]) plot.relabel();
  redraw();
});
byId("reset").addEventListener("click", () => {
  for (const each of boxes) sheet.values[each.path] = each.value;
  Object.assign(sheet, {angle: 0, second: DATA.second});
  byId("second").checked = sheet.second;
  last = null;
  relabel();
  redraw();
});
byId("fit").addEventListener("click", () => {
  last = null;
  redraw();
  requestAnimationFrame(relabel);
});
byId("copy").addEventListener("click", async () => {
  const text = byId("knife-file").textContent;
  try {
    await navigator.clipboard.writeText(text);
    write(byId("copied"), "Copied.");
  } catch {
    getSelection().selectAllChildren(byId("knife-file"));
    write(byId("copied"), "The text is selected: copy it with Ctrl+C or Cmd+C.");
  }
});

byId("second").checked = sheet.second; // a page opened again may remember another choice
byId("units").querySelector("input").checked = true;
draw();
relabel();
setTimeout(reportSelfTest, 50);
