// The pictures as the text of SVG, drawn anew for each state: a ball in its recess, to scale, and curves over the
// blade angle.

const SECTION = {width: 300, height: 236, room: 204};
const PLOT = {width: 420, height: 238, left: 52, right: 338, top: 30, bottom: 198};
const line = points => points.map(([x, y], k) => `${k ? "L" : "M"}${x.toFixed(2)} ${y.toFixed(2)}`).join("");
const drawn = (look, d) => `<path class="${look}" d="${d}"/>`;
const round = (look, [x, y], r) => `<circle class="${look}" cx="${x}" cy="${y}" r="${r}"/>`;
const written = (x, y, said, look = "") => `<text class="${look}" x="${x}" y="${y}">${said}</text>`;
const image = ({width, height}, label, parts) =>
  `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${label}">${parts.join("")}</svg>`;

/** Half profile of a recess from the tang face to its axis: [radius, height] of each corner. */
function profile({diameter, chamfer_width, chamfer_deg, edge_radius, depth}, top) {
  const bore = diameter / 2, floor = Math.min(depth ?? top, top), slope = Math.tan(radians(chamfer_deg));
  if (chamfer_width > 0) {
    const low = Math.min(floor, chamfer_width * slope);
    return [[bore + chamfer_width, 0], [bore + chamfer_width - low / slope, low], [bore, floor]];
  }
  const most = Math.acos(1 - Math.min(1, floor / edge_radius)); // 0/0 of a sharp rim leaves no turn
  const turns = edge_radius > 0 ? spread(0, most, 17) : [0];
  return [...turns.map(turn => [bore + edge_radius * (1 - Math.sin(turn)), edge_radius * (1 - Math.cos(turn))]),
    [bore + edge_radius * (1 - Math.sin(turns.at(-1))), floor]];
}

function arrow(look, [x, y], [dx, dy], said, [saidX, saidY], anchor) {
  const length = Math.hypot(dx, dy), head = Math.min(9, length), [ux, uy] = [dx / length, dy / length];
  const [tx, ty] = [x + dx, y + dy];
  if (length <= 0.5) return "";
  const back = side => [tx - head * ux + side * 4 * uy, ty - head * uy - side * 4 * ux];
  const shaft = line([[x, y], [tx - head * ux, ty - head * uy]]) + line([[tx, ty], back(1), back(-1), [tx, ty]]);
  return drawn(`arrow ${look}`, shaft) + written(saidX, saidY, said, `${look} ${anchor}`);
}

/** One ball in its recess. frame: radius of the largest ball [mm], and force of the longest arrow [N]. */
function section(knife, at, i, frame) {
  const {width, height, room} = SECTION, k = room / (3.33 * frame.radius), face = 4 + 1.3 * frame.radius * k;
  const newton = 0.95 * frame.radius * k / frame.force;
  const x = mm => width / 2 + mm * k, y = mm => face - mm * k, ball = knife.balls[i], radius = ball.diameter / 2;
  const {angle, lift: {demand, phi}, load, push, clearance} = at.balls[i], gap = demand + clearance, carries = load > 0;
  const own = lift(ball, angle), side = own.cos_chi < 0 && own.distance > 1e-4 ? -1 : 1, axis = -side * own.distance;
  const centre = ball.protrusion - gap - radius;
  const top = (face + 20) / k, half = profile(ball.recess, top), far = width / k;
  const outline = [[-far, 0], ...half.map(([r, h]) => [axis - r, h]), ...half.map(([r, h]) => [axis + r, h]).reverse(),
    [far, 0], [far, top + 1], [-far, top + 1]];
  const along = share => [x(share * radius * side * Math.sin(phi)), y(centre + share * radius * Math.cos(phi))];
  const tail = y(centre) + newton * load, under = Math.min(Math.max(tail, y(centre - radius)) + 15, height - 26);
  const doing = carries ? "carries" : clearance > 0 ? `idle by ${short(clearance, "size")}` : "idle";
  const bar = sheet.inch ? 0.508 : 0.5, foot = height - 12;
  const contact = [
    drawn("normal", line([along(-0.3), along(1.6)])),
    drawn("upright", line([[x(0), y(centre)], [x(0), y(centre + 1.5 * radius)]])),
    round("touch", along(1), 4),
    phi > 0 ? written(x(0) - side * 6, y(centre + 0.4 * radius), `${fixed(degrees(phi), 1)}°`,
      `strong ${side > 0 ? "end" : ""}`) : "",
  ];
  return image(SECTION, `Section to scale of ball ${i + 1} in its recess at a blade angle of ${short(degrees(at.theta), "deg")}: ${touching(knife, at)}.`, [
    `<rect class="bar" x="-5" y="${y(-gap)}" width="${width + 10}" height="400"/>`,
    round(`steel outline-${i} ${carries ? "" : "idle"}`, [x(0), y(centre)], radius * k),
    drawn("tang", `${line(outline.map(([mm, h]) => [x(mm), y(h)]))}Z`),
    ...carries ? contact : [],
    written(6, 16, "tang"), written(6, Math.max(y(-gap) + 16, 32), "lock bar"),
    arrow(`ball-${i}`, [x(0), tail], [0, -newton * load], `bar ${short(load, "force")}`, [x(0), under], "middle"),
    arrow("push", [width - 6 + newton * Math.min(push, 0), 26], [-newton * push, 0],
      `${short(push, "force")} at the ball`, [width - 6, 16], "end"),
    written(width - 6, height - 8, `ball ${i + 1}${knife.balls.length > 1 || !carries ? `, ${doing}` : ""}`,
      `ball-${i} strong end`),
    drawn("scale", line([[6, foot], [6 + bar * k, foot]])),
      written(12 + bar * k, height - 8, short(bar, "size").replace(/\.?0+ /, " ")),
  ]);
}

/** Round numbers between two ends, some five of them. */
function ticks(low, high) {
  const rough = (high - low) / 5, power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map(each => each * power).find(each => each >= rough);
  const first = Math.ceil(low / step - 1e-9), count = Math.max(0, Math.floor(high / step + 1e-9) - first + 1);
  return Array.from({length: count}, (_, k) => Number(((first + k) * step).toPrecision(10)));
}

/**
 * Curves over the blade angle. frame: {kind, low, high} of the upright axis. lines: [{name, look, angles, heights, now}], angles
 * in degrees, `now` the height at the blade angle; handovers: [start, end] of each [deg].
 */
function plot(title, {kind, low, high}, lines, handovers, label) {
  const {left, right, top, bottom} = PLOT, [unit, factor] = DATA.kinds[kind][sheet.inch];
  const x = angle => left + (right - left) * angle / sheet.span;
  const y = value => bottom - (bottom - top) * (value - low) / (high - low);
  const upright = (look, angle) => drawn(look, line([[x(angle), top - 3], [x(angle), bottom]]));
  const curve = ({look, angles, heights}) =>
    drawn(look, line(heights.map((height, n) => [x(angles[n]), clip(y(height), -2000, 2000)])));
  const dot = ({now}) => round("touch", [x(sheet.angle), y(now)], 4);
  const seen = ({now}) => now !== undefined && Math.abs(y(now) - (top + bottom) / 2) < (bottom - top) / 2 + 4;
  const ends = lines.filter(each =>
    each.name).map(each => ({...each, y: clip(y(each.heights.at(-1)), top, bottom) + 4})).sort((a, b) => a.y - b.y);
  ends.forEach((each, n) => { if (n) each.y = Math.max(each.y, ends[n - 1].y + 13); });
  const shown = handovers.filter(([start]) => start <= sheet.span);
  const middles = shown.map(([start, end]) => x((start + end) / 2));
  const near = shown.length > 1 && middles[1] - middles[0] < 130;
  const told = near ? [shown.map(stretch).join(" and ")] : shown.map(stretch), room = near ? 110 : 65;
  return image(PLOT, label, [
    ...ticks(low * factor, high * factor).map(tick =>
      drawn(tick ? "grid" : "zero", line([[left, y(tick / factor)], [right, y(tick / factor)]]))
      + written(left - 5, y(tick / factor) + 4, minus(String(tick)), "end")),
    ...ticks(0, sheet.span).map(tick => drawn("grid", line([[x(tick), top], [x(tick), bottom]]))
      + written(x(tick), bottom + 16, tick, "middle")),
    written(4, 14, `${title}, ${unit}`, "strong"), written(right, PLOT.height - 6, "blade angle, °", "end"),
    `<clipPath id="clip-${kind}"><rect x="${left}" y="${top - 3}" width="${right - left}" height="${bottom - top + 6}"/></clipPath><g clip-path="url(#clip-${kind})">`,
    ...shown.flat().map(angle => upright("handover", angle)), ...lines.map(curve), upright("upright", sheet.angle),
      "</g>",
    ...lines.filter(seen).map(dot),
      ...ends.map(each => written(right + 5, each.y, each.name, each.look)),
    ...told.map((said, k) => written(clip(middles[k], left + room, right - 65), top - 4, `handover ${said}`,
      "grey middle")),
  ]);
}
