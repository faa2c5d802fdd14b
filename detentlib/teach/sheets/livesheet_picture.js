// The pictures: each ball in its recess, to scale, and the curves over the blade angle. Drawn once, then moved.

const LOOK = DATA.look;
const DASHES = ["", "9 4"];
const SECTION = {width: 300, height: 236, room: 204};
const PLOT = {width: 420, height: 238, left: 52, right: 338, top: 30, bottom: 198};
const POINTS = 161;

function make(parent, tag, attributes = {}, text = "") {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  set(element, attributes);
  element.textContent = text;
  parent.append(element);
  return element;
}

function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
}

const write = (element, text) => { if (element.textContent !== text) element.textContent = text; };
const line = points => points.map(([x, y], k) => `${k ? "L" : "M"}${x.toFixed(2)} ${y.toFixed(2)}`).join("");
const show = (element, shown) => { element.style.display = shown ? "" : "none"; };

/** Half profile of a recess from the tang face to its axis: [radius, height] of each corner. */
function profile(recess, top) {
  const bore = recess.diameter / 2, width = recess.chamfer_width, round = recess.edge_radius;
  let points = [[bore, 0]];
  if (width > 0) points = [[bore + width, 0], [bore, width * Math.tan(radians(recess.chamfer_deg))]];
  if (round > 0) points = spread(0, Math.PI / 2, 17).map(turn => [bore + round * (1 - Math.sin(turn)), round * (1 - Math.cos(turn))]);
  const floor = recess.depth === null ? top : Math.min(recess.depth, top), kept = [];
  for (const [radius, height] of [...points, [bore, top]]) {
    if (height >= floor && kept.length) {
      const [before, below] = kept[kept.length - 1];
      kept.push([height > below ? before + (radius - before) * (floor - below) / (height - below) : radius, floor]);
      break;
    }
    kept.push([radius, height]);
  }
  return kept;
}

class Section {
  constructor(parent, i) {
    this.i = i;
    this.colour = LOOK.balls[i];
    this.svg = make(parent, "svg", {viewBox: `0 0 ${SECTION.width} ${SECTION.height}`, role: "img"});
    const part = (tag, attributes, text) => make(this.svg, tag, attributes, text);
    this.bar = part("rect", {x: -5, width: SECTION.width + 10, height: 400, fill: LOOK.bar, stroke: LOOK.ink});
    this.ball = part("circle", {cx: SECTION.width / 2, fill: LOOK.steel, stroke: this.colour, "stroke-width": 2.5});
    this.tang = part("path", {fill: LOOK.tang, stroke: LOOK.ink, "stroke-width": 1.2});
    this.upright = part("path", {stroke: LOOK.grey, "stroke-dasharray": "2 3", fill: "none"});
    this.normal = part("path", {stroke: LOOK.ink, "stroke-dasharray": "10 3 3 3", fill: "none"});
    this.touch = part("circle", {r: 4, fill: "#fff", stroke: LOOK.ink, "stroke-width": 1.6});
    this.load = this.arrow(this.colour);
    this.push = this.arrow(LOOK.push);
    this.angle = part("text", {"text-anchor": "end", class: "strong"});
    part("text", {x: 6, y: 16}, "tang");
    this.barName = part("text", {x: 6}, "lock bar");
    this.name = part("text", {x: SECTION.width - 6, y: SECTION.height - 8, "text-anchor": "end", fill: this.colour, class: "strong"});
    this.scale = part("path", {stroke: LOOK.ink, "stroke-width": 2.5, fill: "none"});
    this.scaleName = part("text", {y: SECTION.height - 8});
  }

  arrow(colour) {
    return {shaft: make(this.svg, "path", {stroke: colour, fill: colour, "stroke-width": 2}), name: make(this.svg, "text", {fill: colour})};
  }

  /** Fix the scale: radius of the largest ball [mm], and the force that makes the longest arrow [N]. */
  fit(radius, force) {
    this.k = SECTION.room / (3.33 * radius);
    this.face = 4 + 1.3 * radius * this.k;
    this.newton = 0.95 * radius * this.k / force;
  }

  drawArrow(arrow, [x, y], [dx, dy], name, [nameX, nameY], anchor) {
    const length = Math.hypot(dx, dy), shown = length > 0.5;
    show(arrow.shaft, shown);
    show(arrow.name, shown);
    if (!shown) return;
    const [ux, uy] = [dx / length, dy / length], head = Math.min(9, length), [tx, ty] = [x + dx, y + dy];
    const back = side => [tx - head * ux + side * 4 * uy, ty - head * uy - side * 4 * ux];
    set(arrow.shaft, {d: `${line([[x, y], [tx - head * ux, ty - head * uy]])}${line([[tx, ty], back(1), back(-1), [tx, ty]])}`});
    write(arrow.name, name);
    set(arrow.name, {x: nameX, y: nameY, "text-anchor": anchor});
  }

  draw(knife, at) {
    const {i, k, face} = this, ball = knife.balls[i], radius = ball.diameter / 2, middle = SECTION.width / 2;
    const x = mm => middle + mm * k, y = mm => face - mm * k;
    const {demand, phi} = at.lifts[i], gap = demand + at.clearances[i], load = at.loads[i];
    const seat = lift(ball, at.angles[i]), side = seat.cos_chi < 0 ? -1 : 1, axis = -side * seat.distance;
    const centre = ball.protrusion - gap - radius, out = [side * Math.sin(phi), Math.cos(phi)];
    set(this.bar, {y: y(-gap)});
    set(this.ball, {cy: y(centre), r: radius * k, "stroke-dasharray": load > 0 ? "none" : "5 4"});
    const top = (face + 20) / k, half = profile(ball.recess, top), far = SECTION.width / k;
    const left = half.map(([r, h]) => [x(axis - r), y(h)]), right = half.map(([r, h]) => [x(axis + r), y(h)]).reverse();
    set(this.tang, {d: `${line([[x(-far), y(0)], ...left, ...right, [x(far), y(0)], [x(far), y(top + 1)], [x(-far), y(top + 1)]])}Z`});
    const contact = [x(radius * out[0]), y(centre + radius * out[1])], carries = load > 0;
    for (const each of [this.touch, this.normal, this.upright]) show(each, carries);
    set(this.touch, {cx: contact[0], cy: contact[1]});
    const along = far => [x(far * radius * out[0]), y(centre + far * radius * out[1])];
    set(this.normal, {d: line([along(-0.3), along(1.6)])});
    set(this.upright, {d: line([[x(0), y(centre)], [x(0), y(centre + 1.5 * radius)]])});
    write(this.angle, carries && phi > 0 ? `${fixed(degrees(phi), 1)}°` : "");
    set(this.angle, {x: x(0) - side * 6, y: y(centre + 0.55 * radius), "text-anchor": side > 0 ? "end" : "start"});
    set(this.barName, {y: Math.max(y(-gap) + 16, 32)});
    const push = at.pushes[i];
    const tail = y(centre) + this.newton * load;
    const under = Math.min(Math.max(tail, y(centre - radius)) + 15, SECTION.height - 26);
    this.drawArrow(this.load, [x(0), tail], [0, -this.newton * load], `bar ${short(load, "force")}`, [x(0), under], "middle");
    const start = push >= 0 ? SECTION.width - 6 : SECTION.width - 6 - this.newton * -push;
    this.drawArrow(this.push, [start, 26], [-this.newton * push, 0], `${short(push, "force")} at the ball`, [SECTION.width - 6, 16], "end");
    const state = carries ? "carries" : at.clearances[i] > 0 ? `idle by ${short(at.clearances[i], "size")}` : "idle";
    write(this.name, `ball ${i + 1}${knife.balls.length > 1 || !carries ? `, ${state}` : ""}`);
    const bar = sheet.inch ? 0.508 : 0.5, foot = SECTION.height - 12;
    set(this.scale, {d: line([[6, foot], [6 + bar * k, foot]])});
    write(this.scaleName, short(bar, "size").replace(/\.?0+ /, " "));
    set(this.scaleName, {x: 12 + bar * k});
    const what = `Section to scale of ball ${i + 1} in its recess at a blade angle of ${short(degrees(at.theta), "deg")}`;
    set(this.svg, {"aria-label": `${what}: ${touching(knife, at)}.`});
  }
}

/** Ends and ticks that hold a range, in round numbers of the shown unit. */
function ticks(low, high, factor) {
  const rough = (high - low) * factor / 5, power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map(each => each * power).find(each => each >= rough);
  const found = [];
  for (let k = Math.ceil(low * factor / step - 1e-9); k * step <= high * factor * (1 + 1e-9) + 1e-12; k++) found.push(Number((k * step).toPrecision(10)));
  return found;
}

class Plot {
  /** lines: [{name, colour, dash, width}] */
  constructor(parent, title, kind, lines) {
    Object.assign(this, {title, kind, lines});
    this.svg = make(parent, "svg", {viewBox: `0 0 ${PLOT.width} ${PLOT.height}`, role: "img"});
    const clip = `clip-${kind}`, {left, right, top, bottom} = PLOT;
    make(make(this.svg, "clipPath", {id: clip}), "rect", {x: left, y: top - 3, width: right - left, height: bottom - top + 6});
    this.grid = make(this.svg, "g");
    this.heading = make(this.svg, "text", {x: 4, y: 14, class: "strong"});
    make(this.svg, "text", {x: right, y: PLOT.height - 6, "text-anchor": "end"}, "blade angle, °");
    const inside = make(this.svg, "g", {"clip-path": `url(#${clip})`});
    this.over = make(inside, "path", {stroke: LOOK.grey, "stroke-dasharray": "6 3", fill: "none"});
    this.start = make(inside, "path", {stroke: LOOK.before, "stroke-width": 4, fill: "none"});
    this.curves = lines.map(each => make(inside, "path", {stroke: each.colour, "stroke-width": each.width, "stroke-dasharray": each.dash, fill: "none"}));
    this.upright = make(inside, "path", {stroke: LOOK.ink, "stroke-dasharray": "2 3", fill: "none"});
    this.dots = lines.map(() => make(this.svg, "circle", {r: 4, fill: "#fff", stroke: LOOK.ink, "stroke-width": 1.6}));
    this.names = lines.map(each => make(this.svg, "text", {x: right + 5, fill: each.ink || each.colour}, each.name));
    this.overNames = [0, 1].map(k => make(this.svg, "text", {y: top - 4, "text-anchor": "middle", fill: LOOK.grey}));
  }

  fit(span, low, high) {
    Object.assign(this, {span, low, high});
  }

  relabel() {
    const [unit, factor] = DATA.kinds[this.kind][sheet.inch], {left, right, top, bottom} = PLOT;
    write(this.heading, `${this.title}, ${unit}`);
    this.grid.replaceChildren();
    for (const tick of ticks(this.low, this.high, factor)) {
      const y = this.y(tick / factor);
      make(this.grid, "path", {d: line([[left, y], [right, y]]), stroke: tick === 0 ? LOOK.grey : LOOK.grid});
      make(this.grid, "text", {x: left - 5, y: y + 4, "text-anchor": "end"}, minus(String(tick)));
    }
    for (const tick of ticks(0, this.span, 1)) {
      const x = this.x(tick);
      make(this.grid, "path", {d: line([[x, top], [x, bottom]]), stroke: LOOK.grid});
      make(this.grid, "text", {x, y: bottom + 16, "text-anchor": "middle"}, String(tick));
    }
  }

  x(angle) {
    return PLOT.left + (PLOT.right - PLOT.left) * angle / this.span;
  }

  y(value) {
    return PLOT.bottom - (PLOT.bottom - PLOT.top) * (value - this.low) / (this.high - this.low);
  }

  path(angles, heights) {
    return line(angles.map((angle, n) => [this.x(angle), clip(this.y(heights[n]), -2000, 2000)]));
  }

  /** The broad grey line of the knife as it came; none where no heights are given. */
  drawStart(angles, heights) {
    set(this.start, {d: heights ? this.path(angles, heights) : ""});
  }

  /** values: for each line the heights at `angles` [deg] or null where it is not there; at: index of now; handovers: [start, end] of each [deg]. Returns whether a line runs out of the frame. */
  draw(angles, values, at, handovers, label) {
    const ends = [];
    values.forEach((heights, k) => {
      for (const each of [this.curves[k], this.dots[k], this.names[k]]) show(each, heights !== null);
      if (heights === null) return;
      set(this.curves[k], {d: this.path(angles, heights)});
      const y = this.y(heights[at]), seen = y > PLOT.top - 4 && y < PLOT.bottom + 4;
      show(this.dots[k], seen && this.lines[k].dot !== false);
      set(this.dots[k], {cx: this.x(angles[at]), cy: y});
      if (this.lines[k].name) ends.push({k, y: clip(this.y(heights[heights.length - 1]), PLOT.top, PLOT.bottom) + 4});
    });
    ends.sort((a, b) => a.y - b.y).forEach((each, n) => { if (n && each.y < ends[n - 1].y + 13) each.y = ends[n - 1].y + 13; });
    for (const {k, y} of ends) set(this.names[k], {y});
    const now = this.x(angles[at]);
    set(this.upright, {d: line([[now, PLOT.top - 3], [now, PLOT.bottom]])});
    const shown = handovers.filter(([start]) => start <= this.span), middles = shown.map(([start, end]) => this.x((start + end) / 2));
    set(this.over, {d: shown.flat().map(angle => line([[this.x(angle), PLOT.top - 3], [this.x(angle), PLOT.bottom]])).join("")});
    const near = shown.length > 1 && middles[1] - middles[0] < 130;
    this.overNames.forEach((name, k) => {
      show(name, k < shown.length && !(near && k));
      if (k >= shown.length) return;
      const said = near ? shown.map(stretch).join(" and ") : stretch(shown[k]);
      write(name, `handover ${said}`);
      set(name, {x: clip(middles[k], PLOT.left + (near ? 110 : 65), PLOT.right - 65)});
    });
    set(this.svg, {"aria-label": label});
    return values.some(heights => heights !== null && heights.some(value => value > this.high * 1.02 || value < this.low * 1.02));
  }
}
