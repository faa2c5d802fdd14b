// One knife as the library has it in lift, leaf, curves, path, limits and feel; the formulas F are printed from its
// register.

const FLAT = 0, RIM = 1, CHAMFER = 2, FLOOR = 3, ROUND = 5, FACE = -1;
const JUST_BELOW = 1 - 1e-9, GRAIN = 1e-11, SETTLED = 1e-14, BESIDE = 1e-13, BALANCED = 1e-9, GRID = 65, FINE = 257;
const radians = degrees => degrees * Math.PI / 180;
const degrees = radians => radians * 180 / Math.PI;
const clip = (value, low, high) => Math.min(Math.max(value, low), high);
const sum = numbers => numbers.reduce((total, number) => total + number, 0);
const greatest = numbers => numbers.indexOf(Math.max(...numbers));
const spread = (low, high, count) => Array.from({length: count}, (_, k) => low + (high - low) * k / (count - 1));

/**
 * [last where it holds, first where it does not] of ever finer numbers between low, where it does, and high, where it
 * does not.
 */
function edge(holds, low, high, rounds) {
  for (let round = 0; round < rounds; round++) {
    const numbers = spread(low, high, 65), k = numbers.findIndex((number, n) => n === 64 || (n > 0 && !holds(number)));
    [low, high] = [numbers[k - 1], numbers[k]];
  }
  return [low, high];
}

/** One ball at a relative angle, over its own recess or another. */
function lift(ball, theta, recess = ball.recess, off_track = recess.off_track) {
  const {track_radius, protrusion} = ball, {rest_offset, depth} = recess, radius = ball.diameter / 2;
  const {distance, cos_chi, across} = F.L2({theta, track_radius, off_track, rest_offset});
  const found = (recess.chamfer_width > 0 ? chamfered : plainRim)(radius, recess, distance);
  if (depth !== null && found.sink > depth) Object.assign(found,
    {sink: F.L5({sink: found.sink, floor_depth: depth}), phi: 0, touch: FLOOR});
  // exactly in the middle every direction leads away from it, and none off the track
  const [away, beside] = distance > 0 ? [cos_chi, across] : [1, 0];
  const reach = 1 + 2 * radius * Math.sin(found.phi) / track_radius * beside;
  return Object.assign(found, {distance, cos_chi: away, reach, demand: F.L6({protrusion, sink: found.sink}).demand});
}

function plainRim(ball_radius, {diameter, edge_radius}, distance) {
  const gap = diameter / 2 - distance, rim_gap = clip(gap, -edge_radius, ball_radius * JUST_BELOW);
  const {sink, phi} = F.L3({rim_gap, ball_radius, edge_radius});
  return {sink, phi, rim_gap: gap, touch: gap > -edge_radius ? RIM : FLAT};
}

function chamfered(ball_radius, {diameter, chamfer_width, chamfer_deg}, distance) {
  const bore_radius = diameter / 2, chamfer = radians(chamfer_deg), outline = bore_radius + chamfer_width;
  const cone = F.L4({distance, ball_radius, bore_radius, chamfer_width, chamfer}), lower = cone.reach < bore_radius;
  if (!lower && cone.reach <= outline) return {sink: cone.sink, phi: chamfer, rim_gap: cone.reach - distance,
    touch: CHAMFER};
  const gap = (lower ? bore_radius : outline) - distance;
  const {sink, phi} = F.L3({rim_gap: clip(gap, 0, ball_radius * JUST_BELOW), ball_radius, edge_radius: 0});
  return {sink: sink + (lower ? cone.lower : 0), phi, rim_gap: gap, touch: gap > 0 ? RIM : FLAT};
}

const rimRadius = recess => recess.diameter / 2 + recess.chamfer_width;
const outlineRadius = recess => rimRadius(recess) + recess.edge_radius;
const smooth = ({touch}) => touch === FLAT || touch === FLOOR;
/** Angle by which a recess stands ahead of its ball at the stop. */
const ahead = ({recess, track_radius}) => Math.asin(recess.rest_offset / (track_radius + recess.off_track));

/** Relative angle from which on a ball rides the flat. */
const flatAngle = ({recess, track_radius}) =>
  F.L2a({distance: outlineRadius(recess), track_radius, off_track: recess.off_track, rest_offset: recess.rest_offset});

/** Bearing of a ball from ball 1, null where it is not known. */
const bearing = (knife, i) => knife.balls[i].bearing_deg ?? (i === 0 ? 0 : null);

/** True where ball i can drop into the recess of ball j. */
function crosses(knife, i, j) {
  const ball = knife.balls[i], {track_radius, recess} = knife.balls[j];
  const near = track_radius + recess.off_track - ball.track_radius;
  return i !== j && bearing(knife, i) !== null && bearing(knife, j) !== null && Math.abs(near) < outlineRadius(recess);
}

/** Lift of a ball at its relative angle: the deepest over its own recess and every other that it can cross. */
function lifted(knife, i, theta) {
  const ball = knife.balls[i], [bearing_ball, ...bearings] = [i, ...knife.met[i]].map(j => radians(bearing(knife, j)));
  return knife.met[i].reduce((least, j, k) => {
    const {recess, track_radius: track_radius_other} = knife.balls[j], {track_radius} = ball;
    const place = F.L8({theta, bearing_ball, bearing_other: bearings[k], track_radius, track_radius_other,
      off_track: recess.off_track});
    const there = lift(ball, place.theta, recess, place.off_track);
    return there.sink > least.sink ? there : least;
  }, lift(ball, theta));
}

/**
 * A knife ready to be asked, from its plain numbers: the place in the pivot's play in the rest offsets, bars as leaves,
 * where it breaks out.
 */
function prepared(given) {
  const {pivot_play} = given.blade, rim = given.friction.rim, flat = given.friction.flat ?? rim;
  const moved = recess => ({...recess, rest_offset: recess.rest_offset + pivot_play});
  const knife = {...given, friction: {...given.friction, flat},
    balls: given.balls.map(ball => ({...ball, recess: moved(ball.recess)}))};
  knife.met = knife.balls.map((_, i) => knife.balls.flatMap((_, j) => crosses(knife, i, j) ? [j] : []));
  knife.bars = [knife.bar, knife.second_bar].flatMap((bar, which) => bar ? [leafOf(knife, bar, which)] : []);
  const flattest = Math.max(...knife.balls.map(flatAngle));
  knife.leaving = knife.bars.flatMap(leaf => {
    const furthest = Math.max(...leaf.balls.map(row => row.lever)) * leaf.dragged * 1.01;
    const {omega} = settled(leaf, flattest + furthest, 1);
    return leaf.balls.map(row => row.flat + omega * row.lever);
  });
  knife.breakOut = Math.max(...knife.leaving);
  for (const leaf of knife.bars) {
    leaf.resting = settled(leaf, 0, -1);
    leaf.shut = leaf.rows.map(row => -leaf.resting.omega * row.lever);
    leaf.curves = curvesOf(leaf, knife.breakOut);
  }
  return knife;
}

/**
 * A bar with a row for each of its balls, and one for its face, which can land on the tang beside the first ball.
 * tilt: sideways turn per moment; lever: how far a row is taken round the pivot per sideways turn; dragged: greatest
 * turn from friction on the flat; hard: its force is further from what is usual than its give sideways.
 */
function leafOf(knife, bar, which) {
  const members = knife.balls.flatMap((ball, i) => ball.bar === which ? [i] : []), first = knife.balls[members[0]];
  const {rim, flat} = knife.friction, hinge_distance_1 = first.hinge_distance;
  const parallel_gap = bar.parallel_gap ?? first.protrusion;
  const {rate, riding_force, side_compliance} = bar, kappa = F.B4a({rate, hinge_distance_1});
  const barAngle = (gap, {hinge_distance}) => F.B4({gap, parallel_gap, hinge_distance});
  const psi_ride = barAngle(first.protrusion, first);
  const moment = psi => F.B5({psi, psi_ride, riding_force, hinge_distance_1, kappa});
  const rowOf = (i, ball, liftAt) => {
    const {hinge_distance, track_radius, recess} = ball;
    const across = hinge_distance * Math.abs(Math.sin(radians(ball.track_to_bar_deg)));
    const seat = angle => {
      const found = liftAt(angle);
      return {row, angle, lift: found, psi: barAngle(found.demand, ball)};
    };
    const row = {i, hinge_distance, track_radius, across, lever: across / track_radius,
      wide: outlineRadius(recess) / track_radius, middle: -ahead(ball), flat: flatAngle(ball), seat};
    return row;
  };
  const onFace = {demand: 0, sink: 0, phi: 0, cos_chi: 1, reach: 1, rim_gap: 0, touch: FLAT};
  const balls = members.map(i => rowOf(i, knife.balls[i], angle => lifted(knife, i, angle)));
  const tilt = side_compliance > 0 ? 1 / F.B6b({side_compliance, hinge_distance_1}) : 0;
  return {
    members, balls, rows: [...balls, rowOf(FACE, first, () => onFace)], tilt, kappa, moment,
    arm: hinge_distance_1, parallel_gap, name: which ? "second_bar" : "bar", mu: found => smooth(found) ? flat : rim,
    hard: riding_force / LIBRARY.usual.riding_force > side_compliance / LIBRARY.usual.side_compliance,
    dragged: tilt * Math.max(rim, flat) * Math.max(0,
      ...members.map(i => moment(barAngle(knife.balls[i].protrusion, knife.balls[i])))),
  };
}

/** Push along the track per newton of load; mu with the sign of the slip. */
const pushRatio = ({phi, cos_chi, reach}, mu) => F.F2b({phi, mu, cos_chi, reach});

/**
 * A seat that carries its whole bar while it slides as in opening (1), in closing (−1) or without friction (0); omega:
 * the turn that its push asks for.
 */
function carrying(leaf, seat, slip) {
  const {row} = seat, moment = leaf.moment(seat.psi), load = moment / row.hinge_distance;
  const push = load * pushRatio(seat.lift, slip * leaf.mu(seat.lift)), omega = leaf.tilt * push * row.across;
  return Object.assign(seat, {moment, load, push, omega, clearance: 0, theta: seat.angle + row.lever * omega,
    torque: push * row.track_radius});
}

/**
 * One bar at a blade angle, turned sideways by omega: the row that asks for the greatest bar angle carries it all. off:
 * zero in balance; back: rows that are known to slide back, against the sense.
 */
function pressed(leaf, theta, omega, sense, since, back = []) {
  const seats = leaf.rows.map(row => row.seat(theta - omega * row.lever)), k = greatest(seats.map(seat => seat.psi));
  const turned = since && sense * (seats[k].angle - since[k]) < 0;
  const one = carrying(leaf, seats[k], turned || back.includes(seats[k].row) ? -sense : sense);
  const {psi, moment, push, row} = one;
  const idle = seat => Object.assign(seat,
    {load: 0, push: 0, clearance: F.C1({psi, psi_ball: seat.psi, hinge_distance: seat.row.hinge_distance})});
  const energy = F.E1({moment, kappa: leaf.kappa}) + omega * push * row.across / 2;
  return {omega, psi, moment, energy, off: omega - one.omega,
    seats: seats.map((seat, n) => n === k ? one : idle(seat))};
}

/**
 * One bar at a blade angle, with sideways turn and push in balance. since: relative angles at which the rows last
 * turned back.
 */
function settled(leaf, theta, sense, since = null) {
  const at = (omega, back) => pressed(leaf, theta, omega, sense, since, back), balanced = ({off}) => Math.abs(off) <= SETTLED;
  const moved = leaf.balls.filter(row => row.lever > BALANCED), turnFor = (row, angle) => (theta - angle) / row.lever;
  // no push can take a ball past the middle of its recess
  const low = -Math.max(0, ...moved.map(row => row.wide / row.lever)) - leaf.dragged;
  const high = Math.max(0, ...moved.map(row => turnFor(row, row.middle))) + leaf.dragged + SETTLED;
  // where the pushes do not hang on the turn, as on the flat, what they ask of the unturned bar is the balance
  let last = at(0), now = at(clip(-last.off, low, high));
  if (balanced(now)) return now;
  // else it can lie where a ball stands in the middle of its recess, or where a rim that stuck begins to slip
  for (const jump of [row => row.middle,
    ...since ? [row => since[leaf.rows.indexOf(row)]]
    : []].flatMap(turn => moved.map(row => turnFor(row, turn(row))))) {
    const [before, after] = [at(jump - SETTLED), at(jump + SETTLED)];
    if (before.off <= 0 && after.off > 0) return {...mixed(before, after), off: 0};
  }
  const known = [low, high], narrow = ({off, omega}) => { known[off > 0 ? 1 : 0] = off > 0 ? Math.min(known[1], omega)
    : Math.max(known[0], omega); };
  for (let round = 0; round < 9 && !balanced(now); round++) {
    [last, now].forEach(narrow);
    const next = now.omega - now.off * (now.omega - last.omega) / (now.off - last.off);
    [last, now] = [now, at(known[0] < next && next < known[1] ? next : (known[0] + known[1]) / 2)];
  }
  // where neither finds it, the push jumps as another ball takes over, or as floor or face lets go
  if (balanced(now)) return now;
  const sides = edge(omega => at(omega).off <= 0, ...known, 8), back = slidesBack(sides.map(omega => at(omega)));
  return mixed(...sides.map(omega => at(omega, back)));
}

/**
 * Rows that slide back in their recesses as the blade turns on, where the balance lies between two states. Held between
 * two rims, one ball short of the middle of its recess and one past it, the one that the bar takes further round does.
 */
function slidesBack(states) {
  const [one, other] = states.map(({seats}) => seats.find(({load}) => load > 0));
  const onRims = one && other && [one, other].every(({lift}) => !smooth(lift));
  if (!onRims || one.row === other.row || one.lift.cos_chi * other.lift.cos_chi >= 0) return [];
  const [{row: near}, {row: far}] = [one, other].sort((a, b) => a.row.lever - b.row.lever);
  return far.lever > near.lever ? [far] : [];
}

/**
 * Two states of a bar on both sides of a jump of the push, which are both true there, in the shares that the balance
 * asks for.
 */
function mixed(before, after) {
  const share = clip(-before.off / (after.off - before.off || 1), 0, 1);
  const mix = (one, other) => (1 - share) * one + share * other;
  const seats = after.seats.map((seat, k) => {
    const was = before.seats[k], load = mix(was.load, seat.load), push = mix(was.push, seat.push);
    const {touch, cos_chi} = seat.lift;
    const round = load > 0 && !smooth(seat.lift) && was.lift.cos_chi * cos_chi < 0;
    return {...seat, load, push, clearance: load > 0 ? 0 : seat.clearance,
      lift: {...seat.lift, touch: round ? ROUND : touch}};
  });
  return Object.assign({seats}, ...["off", "omega", "psi", "moment",
    "energy"].map(name => ({[name]: mix(before[name], after[name])})));
}

const torqueOf = seats => sum(seats.map(({push, row}) => push * row.track_radius));
const carrierOf = seats => seats[greatest(seats.map(seat => seat.load))].row.i;

/** Drag of the pivot under the loads of these seats. */
function dragOf({friction: {pivot_torque, washer, washer_radius, pin, pin_radius}}, seats) {
  const onBalls = seats.filter(({row}) => row.i !== FACE);
  return pivot_torque + sum(onBalls.map(({load, lift: {phi}}) =>
    F.F8({load, phi, washer, washer_radius, pin, pin_radius})));
}

/**
 * The knife at a blade angle. sense: 1 opening from shut, −1 letting back, 0 no friction. torque: of the detent alone,
 * + resists opening.
 */
function state(knife, theta, sense = 1) {
  const bars = knife.bars.map(leaf => settled(leaf, theta, sense, sense === 1 ? leaf.shut : null));
  const seats = bars.flatMap(bar => bar.seats), balls = knife.balls.map((_, i) => seats.find(({row}) => row.i === i));
  return {theta, bars, seats, balls, torque: torqueOf(seats), energy: sum(bars.map(bar => bar.energy))};
}

/**
 * What a row would do on opening if it carried its bar alone: no balance to be solved. lead: not below zero where it
 * does carry alone.
 */
function alone(leaf, row, angle) {
  const one = carrying(leaf, row.seat(angle), 1), others = leaf.rows.filter(other => other !== row);
  return Object.assign(one, {lead: one.psi - Math.max(...others.map(other =>
    other.seat(one.theta - other.lever * one.omega).psi))});
}

/**
 * What each row would do alone at relative angles from shut to open, and on both sides of where it leaves its recess,
 * passes the middle, takes
 * over, gives away or touches something else.
 */
function curvesOf(leaf, breakOut) {
  const just = LIBRARY.just_after, kind = ({lead, lift}) => lead < 0 ? -1 : lift.touch;
  const loaded = leaf.resting.seats.filter(({load}) => load > 0);
  return leaf.rows.map((row, k) => {
    // at rest it may be in the middle of its recess, or level with another one
    const {touch} = leaf.resting.seats[row.i === FACE ? 0 : k].lift;
    const low = leaf.shut[k] + (touch === ROUND || loaded.length > 1 ? GRAIN : 0);
    const at = angle => alone(leaf, row, angle);
    // on the flat the drag turns the bar sideways, so the last angle is short of the break-out
    const high = Math.max(row.flat, breakOut - row.lever * at(row.flat + 2 * just).omega) + 2 * just;
    const known = [row.middle, row.flat].flatMap(turn => [turn - BESIDE, turn + BESIDE]).map(angle =>
      clip(angle, low, high));
    const places = new Set([...spread(low, high, FINE), ...known]); // each once: a top is looked for between neighbours
    const points = [...places].sort((a, b) => a - b).map(at);
    return points.flatMap((one, n) => {
      const before = points[n - 1], alike = angle => kind(at(angle)) === kind(before);
      return n === 0 || kind(one) === kind(before) ? [one] : [...edge(alike, before.angle, one.angle, 6).map(at), one];
    });
  });
}

/** The stretches of these curves in which one row carries alone: {i, first, last}. */
function stretchesOf(curves) {
  const runs = [];
  for (const points of curves) points.forEach((one, n) => {
    if (one.lead < 0) return;
    if (n === 0 || points[n - 1].lead < 0) runs.push({i: one.row.i, first: one});
    runs.at(-1).last = one;
  });
  return runs;
}

/**
 * The point of a curve at which `value` is greatest while its row carries alone, looked at more closely round the best
 * of its points.
 */
function topOf(leaf, curve, value) {
  const best = points => greatest(points.map(one => one.lead >= 0 ? value(one) : -Infinity));
  let points = curve, k = best(points), top = points[k];
  for (let round = 0; round < 8; round++) {
    const [low, high] = [k - 1, k + 1].map(n => points[clip(n, 0, points.length - 1)].angle);
    points = spread(low, high, 9).map(angle => alone(leaf, top.row, angle));
    k = best(points);
    if (points[k].lead >= 0 && value(points[k]) > value(top)) top = points[k];
  }
  return top;
}

function restAngle(knife) {
  const opens = theta => state(knife, theta, 0).torque <= 0, angles = spread(0, knife.breakOut, GRID);
  const first = angles.findIndex(theta => !opens(theta));
  if (first <= 0) return first < 0 ? knife.breakOut : 0;
  const rest = edge(opens, angles[first - 1], angles[first], 7)[1];
  return rest > LIBRARY.just_after ? rest : 0;
}

/** Blade angle through which the rim would stick on opening if nothing else came to carry. */
function slipsAt(knife) {
  const found = knife.bars.map(leaf => {
    const {seats, omega} = leaf.resting, loaded = leaf.balls.filter((_, k) => seats[k].load > 0);
    if (loaded.some(({lever}) => lever !== loaded[0].lever)) return sharing(leaf, knife.breakOut);
    const side = sum(seats.map(({row, lift, load}) =>
      load * row.across * pushRatio(lift.touch === ROUND ? {...lift, cos_chi: 1} : lift, leaf.mu(lift))));
    return leaf.balls[greatest(seats.slice(0, -1).map(seat => seat.load))].lever * (leaf.tilt * side - omega);
  });
  return Math.max(0, ...found);
}

/** Blade angle up to which one of the balls that share at rest stays where it is in its recess. */
function sharing(leaf, breakOut) {
  const sticks = theta => {
    const {omega, seats} = settled(leaf, theta, 1, leaf.shut);
    return leaf.balls.some(({lever}, k) => seats[k].load > 0 && Math.abs(theta - omega * lever - leaf.shut[k]) < LIBRARY.stays);
  };
  const until = edge(sticks, 0, breakOut, 7)[1];
  return until > LIBRARY.at_once ? until : 0;
}

/** Blade angle at which another ball comes to carry while the rim still sticks; Infinity where none does. */
function joined(knife) {
  const [leaf] = knife.bars, stuck = leaf.balls.findIndex(({i}) => i === carrierOf(leaf.resting.seats));
  if (knife.bars.length > 1 || stuck < 0) return Infinity;
  const until = slipsAt(knife), along = row => 1 - row.lever / leaf.balls[stuck].lever;
  const psi = leaf.balls[stuck].seat(leaf.shut[stuck]).psi;
  const clear = theta => Math.min(...leaf.balls.map((row, k) => k === stuck ? Infinity
    : psi - row.seat(leaf.shut[k] + theta * along(row)).psi)), sticks = theta => clear(theta) > 0;
  return until > 0 && clear(0) > GRAIN && !sticks(until) ? edge(sticks, 0, until, 7)[1] : Infinity;
}

/** Blade angle through which the rim sticks on opening before it slips, or another ball comes to carry. */
const takeUp = knife => Math.min(slipsAt(knife), joined(knife));

/** Greatest torque on opening, where it is, and the pivot's drag there, with one bar. */
function peakOf(knife) {
  const [leaf] = knife.bars, tops = leaf.curves.map(curve => topOf(leaf, curve, one => one.torque)).filter(one =>
    one.lead >= 0);
  const top = tops[greatest(tops.map(one => one.torque))], until = takeUp(knife);
  // where another ball joins the one that sticks the push jumps; a curve's place before that ball lets go does not count
  const oneAlone = leaf.resting.seats.filter(({load}) => load > 0).length === 1;
  const passedOver = oneAlone && top.theta < until - LIBRARY.just_after;
  const at = passedOver || isFinite(joined(knife)) ? state(knife, until + LIBRARY.just_after) : top;
  return passedOver || at.torque > top.torque ? {...at, drag: dragOf(knife, at.seats)}
    : {...top, drag: dragOf(knife, [top])};
}

/** What each ball touches where it is loaded, as words to compare. */
const pattern = ({balls}) => balls.map(({load, lift}) => load > 0 ? lift.touch : "");
const same = (one, other) => pattern(one).join() === pattern(other).join();

/** The same with two bars: searched over the blade angle. */
function peakTogether(knife) {
  const best = states => states[greatest(states.map(at => at.torque))], at = theta => state(knife, theta);
  const states = spread(0, knife.breakOut, GRID).map(at), step = knife.breakOut / (GRID - 1);
  let top = best(states), width = step;
  for (let round = 0; round < 5; round++, width /= 4) {
    top = best(spread(Math.max(top.theta - width, 0), Math.min(top.theta + width, knife.breakOut), 9).map(at));
  }
  const changes = states.slice(1).flatMap((after, k) => same(states[k], after) ? []
    : [edge(theta => same(at(theta), states[k]), states[k].theta, after.theta, 4)[1]]);
  // on either side of a step the torque can stand higher than at any angle of the grid
  const known = [takeUp(knife), ...knife.leaving,
    ...knife.bars.flatMap(leaf => leaf.balls.map(row => Math.max(0, row.middle)))];
  const steps = [...known.map(turn => Math.min(turn, knife.breakOut)), ...changes];
  top = best([top, ...steps.flatMap(turn => [-1, 1].map(side => at(Math.max(turn + side * LIBRARY.just_after, 0))))]);
  return {...top, drag: dragOf(knife, top.seats)};
}

/**
 * The stretch in which the ball that carries at rest still sticks, where it hands over before it has slipped; a list of
 * one or none.
 */
function sticking(knife, resting, first) {
  const carrier = carrierOf(resting.seats), loaded = at => at.balls.filter(seat => seat.load > 0);
  if (first.theta <= resting.theta || carrier === FACE || carrier === first.row.i) return [];
  const states = spread(resting.theta, first.theta, GRID).map(theta => state(knife, theta));
  const k = states.findIndex((at, n) => n + 1 < GRID && !same(at, states[n + 1]) && loaded(at).length === 1
    && loaded(at)[0].row.i === carrier);
  if (k < 0) return [];
  const end = edge(theta => same(state(knife, theta), states[k]), states[k].theta, states[k + 1].theta, 4)[1];
  return [{i: carrier, first: states[0], last: state(knife, end - LIBRARY.just_after)}];
}

/**
 * The handovers on opening with one bar: from one ball alone to another alone, {start, end, from, to, before, after}.
 */
function handoversOf(knife, resting) {
  const slipping = stretchesOf(knife.bars[0].curves).filter(({first, last}) => last.theta > resting.theta
    && first.theta < knife.breakOut - LIBRARY.hair)
    .sort((a, b) => a.first.theta - b.first.theta);
  if (!slipping.length) return [];
  const stretches = [...sticking(knife, resting, slipping[0].first), ...slipping];
  return stretches.slice(1).flatMap(({i, first}, k) => {
    const {i: from, last} = stretches[k];
    if (i === from || i === FACE || from === FACE) return [];
    // at one angle where the bar springs over, so that the next stretch begins before this one ends
    const over = first.theta < last.theta - LIBRARY.hair;
    const after = over ? state(knife, last.theta + LIBRARY.just_after) : first;
    return [{start: last.theta, end: Math.max(last.theta, first.theta), from, to: i, before: last.torque, after: after.torque}];
  });
}

/** Contact and friction angle together; 0 where a ball carries on no rim that it climbs. */
function lean(knife, {load, lift}) {
  if (!(load > 0) || smooth(lift) || lift.cos_chi <= 0) return 0;
  const angle = Math.atan(pushRatio(lift, knife.friction.rim));
  return angle < 0 ? angle + Math.PI : angle;
}

/** The blade angle at which a rim still holds its ball past where the flat begins; null where none does. */
function heldPastTheFlat(knife, leaf) {
  const onRim = one => one && one.lead >= 0 && one.lift.touch !== FLAT;
  const held = Math.max(...leaf.curves.flat().filter(onRim).map(one => one.theta));
  const atTheTop = leaf.curves.flatMap(curve => curve.filter((one, k) => onRim(one) && curve[k + 1] && !onRim(curve[k + 1])));
  return held > Math.max(knife.breakOut, ...atTheTop.map(one => one.theta)) + LIBRARY.past ? held : null;
}

/** The blade angle at which a bar springs sideways all at once; Infinity where none does. */
const springsAt = ({bars}) => Math.min(...bars.flatMap(leaf => leaf.curves.flatMap(curve => curve.filter((one, k) => {
  const next = curve[k + 1];
  return next && one.lead >= 0 && next.lead >= 0 && next.lift.touch !== FLAT && next.theta < one.theta - GRAIN;
})).map(one => one.theta)));

/** The state on that side of the peak where the torque is greater: on the other one another ball may carry. */
function atThePeak(knife, {theta}) {
  const [before, after] = [-1, 1].map(side => state(knife, Math.max(theta + side * LIBRARY.just_after, 0)));
  return before.torque >= after.torque ? before : after;
}

/** Balls that stand so near to the middle of their recess that where the bar's swing takes them off their track counts. */
const throughTheMiddle = ({bars}) => bars.flatMap(({omega, seats}) => seats.filter(({row, load, lift}) => load > 0
  && !smooth(lift) && (omega * row.across) ** 2 / (2 * row.track_radius) > LIBRARY.off_the_track * lift.distance));

/** What the mechanics cannot do: {where, limit, value} for each broken limit. */
function brokenLimits(knife) {
  const found = knife.bars.flatMap(leaf => {
    const jammed = leaf.balls.flatMap((row, k) => {
      const {i} = row, where = `balls[${i}].recess.diameter`, ball = knife.balls[i];
      const gap = Math.max(...[0, leaf.shut[k]].map(from => row.seat(Math.max(from, row.middle)).lift.rim_gap));
      if (gap >= ball.diameter / 2 * JUST_BELOW) return [{where, limit: "drops", value: gap}];
      const worst = topOf(leaf, leaf.curves[k], one => lean(knife, one));
      return worst.lead >= 0 && lean(knife, worst) > LIBRARY.jam_from ? [{where, limit: "jams", value: worst.lift.phi}]
        : [];
    });
    const held = jammed.length ? null : heldPastTheFlat(knife, leaf);
    const [field, limit] = leaf.hard ? ["riding_force", "pushesAside"] : ["side_compliance", "goesAside"];
    if (held !== null) jammed.push({where: `${leaf.name}.${field}`, limit, value: degrees(held)});
    const least = Math.min(...leaf.curves.flat().filter(one => one.lead >= 0).map(one => one.moment));
    return least > 0 ? jammed : [...jammed,
      {where: `${leaf.name}.riding_force`, limit: "slack", value: least / leaf.arm}];
  });
  if (knife.bars.some(leaf => Math.abs(leaf.resting.off) > BALANCED)) found.push({where: "bar.side_compliance",
    limit: "unbalanced"});
  if (knife.balls.length > 1 && bearing(knife, 0) !== null && bearing(knife, 1) !== null) {
    const [track_radius, outer] = knife.balls.map(ball => ball.track_radius + ball.recess.off_track);
    const [from, to] = knife.balls.map((ball, i) => radians(bearing(knife, i)) + ahead(ball));
    const {distance} = F.L2({theta: to - from, track_radius, off_track: outer - track_radius, rest_offset: 0});
    if (distance < sum(knife.balls.map(ball => outlineRadius(ball.recess)))) found.push({where: "balls[1].recess",
      limit: "overlap", value: distance});
  }
  return found;
}

/** What one knife feels like, as dl.feel; where `limits` holds what breaks there is nothing else. */
function feelOf(given) {
  const knife = prepared(given), limits = brokenLimits(knife);
  if (limits.length) return {limits};
  const {blade: {tab_arm: arm}, friction: {rim}} = knife, beyond = knife.breakOut + LIBRARY.just_after;
  const rest = restAngle(knife), peak = knife.bars.length > 1 ? peakTogether(knife) : peakOf(knife);
  const resting = state(knife, rest > 0 ? rest + LIBRARY.just_after : 0, -1), atTab = torque => F.F5({torque, arm});
  const peaked = atThePeak(knife, peak);
  const onTrack = knife.balls.every(({recess}) => Math.abs(recess.off_track) <= LIBRARY.off_track_limit);
  const given_back = rim <= LIBRARY.off_track_mu || onTrack;
  const loadOf = ({seats}) => sum(seats.map(seat => seat.load));
  return {
    limits, knife,
    break_force: atTab(peak.torque),
    letback_force: given_back ? atTab(resting.torque) : null,
    gauge_break_force: atTab(peak.torque + peak.drag),
    gauge_letback_force: given_back ? atTab(resting.torque - dragOf(knife, resting.seats)) : null,
    barrier: state(knife, beyond, 0).energy - resting.energy,
    break_out_deg: degrees(knife.breakOut), rest_deg: degrees(rest), take_up_deg: degrees(takeUp(knife)),
    joins: isFinite(joined(knife)),
    loaded_offset: knife.bars.flatMap(leaf =>
      leaf.balls.map((row, k) => knife.balls[row.i].recess.rest_offset + leaf.shut[k] * row.track_radius)),
    contact_deg: resting.balls.map(({lift}) => degrees(lift.phi)),
    idle_clearance: resting.balls.map(({clearance}) => clearance),
    rest_load: loadOf(resting), ride_load: loadOf(state(knife, beyond)),
    springs_deg: degrees(springsAt(knife)), through: throughTheMiddle(peaked).map(({row}) => row.i),
    steepest_deg: degrees(Math.max(...[...resting.balls, ...peaked.balls].map(seat => lean(knife, seat)))),
    handovers: knife.bars.length > 1 || knife.balls.length < 2 ? [] : handoversOf(knife, resting),
  };
}
