// What the library does in lift, leaf, carry, curves, path, limits and feel, in the same order and with the same steps, so that
// both give the same numbers. The physics itself stands in F, printed from the library's register of formulas.

const FLAT = 0, RIM = 1, CHAMFER = 2, FLOOR = 3, ROUND = 5;
const FACE = -1;
const JUST_BELOW = 1 - 1e-9;
const GRID = 65, COARSE = 49, FINE = 1025, SECTIONS = 64, ROUNDS = 4, ZOOM_ROUNDS = 5, ZOOM_POINTS = 9;
const BALANCED = 1e-9, SETTLED = 1e-14, BESIDE = 1e-14, SECANT_ROUNDS = 9, BETWEEN_ROUNDS = 8, MOVED = 1e-9;
const GRAIN = 1e-11, SIDE_ROUNDS = 6, TOP_ROUNDS = 6;
const radians = degrees => degrees * Math.PI / 180;
const degrees = radians => radians * 180 / Math.PI;
const clip = (value, low, high) => Math.min(Math.max(value, low), high);

/** One ball over one recess at blade angle theta. */
function lift(ball, theta, recess = ball.recess, offTrack = recess.off_track) {
  const radius = ball.diameter / 2;
  const place = F.L2({theta, track_radius: ball.track_radius, off_track: offTrack, rest_offset: recess.rest_offset});
  const distance = Math.max(place.distance, 0);
  const found = recess.chamfer_width === 0 ? plainRim(radius, recess, distance) : chamfered(radius, recess, distance);
  found.distance = distance;
  // exactly in the middle every direction leads away from it
  found.cos_chi = place.distance > 0 ? place.cos_chi : 1;
  if (recess.depth !== null && found.sink > recess.depth) {
    found.sink = F.L5({sink: found.sink, floor_depth: recess.depth});
    found.phi = 0;
    found.touch = FLOOR;
  }
  found.demand = F.L6({protrusion: ball.protrusion, sink: found.sink}).demand;
  // exactly in the middle there is no direction that leads off the track
  found.reach = 1 + 2 * radius * Math.sin(found.phi) / ball.track_radius * (place.distance > 0 ? place.across : 0);
  return found;
}

function plainRim(radius, recess, distance) {
  const rimGap = recess.diameter / 2 - distance;
  const carried = clip(rimGap, -recess.edge_radius, radius * JUST_BELOW);
  const seat = F.L3({rim_gap: carried, ball_radius: radius, edge_radius: recess.edge_radius});
  return {sink: seat.sink, phi: seat.phi, rim_gap: rimGap, touch: rimGap > -recess.edge_radius ? RIM : FLAT};
}

function chamfered(radius, recess, distance) {
  const bore = recess.diameter / 2, gamma = radians(recess.chamfer_deg), outline = bore + recess.chamfer_width;
  const cone = F.L4({distance, ball_radius: radius, bore_radius: bore, chamfer_width: recess.chamfer_width, chamfer: gamma});
  const lower = cone.reach < bore, upper = cone.reach > outline;
  if (!lower && !upper) return {sink: cone.sink, phi: gamma, rim_gap: cone.reach - distance, touch: CHAMFER};
  const rimGap = (lower ? bore : outline) - distance;
  const edge = F.L3({rim_gap: clip(rimGap, 0, radius * JUST_BELOW), ball_radius: radius, edge_radius: 0});
  return {sink: edge.sink + (lower ? cone.lower : 0), phi: edge.phi, rim_gap: rimGap, touch: rimGap > 0 ? RIM : FLAT};
}

const rimRadius = recess => recess.diameter / 2 + recess.chamfer_width;
const outlineRadius = recess => rimRadius(recess) + recess.edge_radius;

function flatAngle(ball) {
  const recess = ball.recess;
  return F.L2a({distance: outlineRadius(recess), track_radius: ball.track_radius, off_track: recess.off_track, rest_offset: recess.rest_offset});
}

function middleAngle(ball) {
  return Math.max(0, -Math.asin(ball.recess.rest_offset / (ball.track_radius + ball.recess.off_track)));
}

/** Bearing of a ball from ball 1, null where it is not known. */
function bearing(knife, i) {
  const given = knife.balls[i].bearing_deg;
  return i === 0 && given === null ? 0 : given;
}

/** True where ball i can drop into the recess of ball j. */
function crosses(knife, i, j) {
  if (bearing(knife, i) === null || bearing(knife, j) === null) return false;
  const ball = knife.balls[i], other = knife.balls[j];
  return Math.abs(other.track_radius + other.recess.off_track - ball.track_radius) < outlineRadius(other.recess);
}

const smooth = lifted => lifted.touch === FLAT || lifted.touch === FLOOR;
const onFlat = friction => friction.flat === null ? friction.rim : friction.flat;
const greatest = numbers => numbers.indexOf(Math.max(...numbers));
const sum = numbers => numbers.reduce((total, number) => total + number, 0);
const frictionOf = (knife, lifted) => smooth(lifted) ? onFlat(knife.friction) : knife.friction.rim;

/** Push along the track per newton of load; mu with the sign of the slip. */
const pushRatio = ({phi, cos_chi, reach}, mu) => F.F2b({phi, mu, cos_chi, reach});

/** The knife with what does not depend on the blade angle worked out once: springs, levers, where it rests, where each ball leaves. */
function prepared(given) {
  const play = given.blade.pivot_play;
  const knife = {...given, balls: given.balls.map(ball => ({...ball, recess: {...ball.recess, rest_offset: ball.recess.rest_offset + play}}))};
  knife.met = knife.balls.map((_, i) => knife.balls.flatMap((_, j) => j !== i && crosses(knife, i, j) ? [j] : []));
  knife.bars = [knife.bar, knife.second_bar].flatMap((bar, which) => bar ? [leafOf(knife, bar, which)] : []);
  const stiff = Math.max(...knife.balls.map(flatAngle)), leaving = [];
  for (const leaf of knife.bars) {
    leaf.resting = settled(knife, leaf, 0, -1);
    for (const i of leaf.members) leaf.shut[i] = -leaf.resting.omega * leaf.levers[i];
    const dragged = leaf.tilt > 0 ? settled(knife, leaf, stiff + furthest(knife, leaf), 1).omega : 0;
    for (const i of leaf.members) leaving[i] = flatAngle(knife.balls[i]) + dragged * leaf.levers[i];
  }
  return Object.assign(knife, {leaving, breakOut: Math.max(...leaving)});
}

/** A bar and what it does to its balls; tilt: sideways turn per moment; across, levers: arm of each ball's push, and its turn per sideways turn. */
function leafOf(knife, bar, which) {
  const members = knife.balls.flatMap((ball, i) => ball.bar === which ? [i] : []), first = knife.balls[members[0]];
  const parallel = bar.parallel_gap === null ? first.protrusion : bar.parallel_gap, arm = first.hinge_distance;
  const across = knife.balls.map(ball => ball.hinge_distance * Math.abs(Math.sin(radians(ball.track_to_bar_deg))));
  const kappa = F.B4a({rate: bar.rate, hinge_distance_1: arm}), psi_ride = F.B4({gap: first.protrusion, parallel_gap: parallel, hinge_distance: arm});
  return {
    bar, members, parallel, arm, across, kappa, psi_ride, shut: [],
    name: which ? "second_bar" : "bar",
    levers: knife.balls.map((ball, i) => across[i] / ball.track_radius),
    tilt: bar.side_compliance > 0 ? 1 / F.B6b({side_compliance: bar.side_compliance, hinge_distance_1: arm}) : 0,
    free: psi_ride - bar.riding_force * arm / kappa,
    face: F.B4({gap: 0, parallel_gap: parallel, hinge_distance: arm}),
  };
}

const momentAt = (leaf, psi) => F.B5({psi, psi_ride: leaf.psi_ride, riding_force: leaf.bar.riding_force, hinge_distance_1: leaf.arm, kappa: leaf.kappa});
const barAngle = (leaf, ball, gap) => F.B4({gap, parallel_gap: leaf.parallel, hinge_distance: ball.hinge_distance});
const mostFriction = knife => Math.max(knife.friction.rim, onFlat(knife.friction));

function greatestMoment(knife, leaf) {
  return Math.max(0, ...leaf.members.map(i => momentAt(leaf, barAngle(leaf, knife.balls[i], knife.balls[i].protrusion))));
}

/** An angle further than friction on the flat takes any ball. */
function furthest(knife, leaf) {
  return Math.max(...leaf.members.map(i => leaf.levers[i])) * leaf.tilt * greatestMoment(knife, leaf) * mostFriction(knife) * 1.01;
}

/** Lift of a ball at its relative angle: the deepest over its own recess and every other that it can cross. */
function lifted(knife, i, angle) {
  const ball = knife.balls[i];
  let least = lift(ball, angle);
  for (const j of knife.met[i]) {
    const other = knife.balls[j];
    const place = F.L8({
      theta: angle, bearing_ball: radians(bearing(knife, i)), bearing_other: radians(bearing(knife, j)),
      track_radius: ball.track_radius, track_radius_other: other.track_radius, off_track: other.recess.off_track,
    });
    const there = lift(ball, place.theta, other.recess, place.off_track);
    if (there.sink > least.sink) least = there;
  }
  return least;
}

/** One bar at a blade angle, turned sideways by omega: the ball with the largest demand carries all. off: zero in balance. */
function pressed(knife, leaf, theta, omega, sense, since) {
  const members = leaf.members.map(i => {
    const angle = theta - omega * leaf.levers[i], found = lifted(knife, i, angle);
    return {i, angle, lift: found, psi: barAngle(leaf, knife.balls[i], found.demand)};
  });
  const top = members[greatest(members.map(each => each.psi))], held = Math.max(top.psi, leaf.face), landed = top.psi < leaf.face;
  // a ball cannot pull
  const psi = Math.max(held, leaf.free), moment = Math.max(momentAt(leaf, psi), 0), onBall = !landed && held >= psi, carrying = onBall ? top : members[0];
  const turned = since !== null && sense * (carrying.angle - since[carrying.i]) < 0, slip = turned ? -sense : sense;
  const load = moment / (onBall ? knife.balls[top.i].hinge_distance : leaf.arm);
  const push = load * (onBall ? pushRatio(top.lift, slip * frictionOf(knife, top.lift)) : slip * onFlat(knife.friction));
  const side = push * leaf.across[carrying.i];
  for (const each of members) {
    const carries = onBall && each === top;
    each.load = carries ? load : 0;
    each.push = carries ? push : 0;
    each.clearance = carries ? 0 : F.C1({psi, psi_ball: each.psi, hinge_distance: knife.balls[each.i].hinge_distance});
  }
  return {
    omega, psi, moment, members, off: omega - leaf.tilt * side,
    faceLoad: landed ? load : 0, facePush: landed ? push : 0, energy: F.E1({moment, kappa: leaf.kappa}) + omega * side / 2,
  };
}

/** One bar at a blade angle, with sideways turn and push in balance. since: relative angles at which the balls last turned back, or null. */
function settled(knife, leaf, theta, sense, since = null) {
  const at = omega => pressed(knife, leaf, theta, omega, sense, since);
  if (!(leaf.tilt > 0)) return pressed(knife, leaf, theta, 0, sense, null);
  const balanced = found => found !== null && Math.abs(found.off) <= SETTLED, [low, high] = boundsOf(knife, leaf, theta);
  // where the pushes do not hang on the turn, as on the flat, what they ask of the unturned bar is the balance
  const straight = at(clip(-at(0).off, low, high));
  if (balanced(straight)) return straight;
  const jumped = knownJump(knife, leaf, theta, at, since);
  if (jumped !== null) return jumped;
  const found = bySecants(at, low, high);
  return balanced(found) ? found : between(at, low, high);
}

/** The balance where it lies where a rim that stuck begins to slip, or where a ball stands in the middle of its recess; else null. */
function knownJump(knife, leaf, theta, at, since) {
  const middles = leaf.members.map(i => -aheadOf(knife.balls[i])), turned = since === null ? [] : leaf.members.map(i => since[i]);
  const levers = leaf.members.map(i => leaf.levers[i] > MOVED ? leaf.levers[i] : Infinity);
  for (const jump of [middles, turned].flatMap(turns => turns.map((turn, k) => (theta - turn) / levers[k]))) {
    const [before, after] = [at(jump - BESIDE), at(jump + BESIDE)];
    if (before.off <= 0 && after.off > 0) return {...mixed(before, after), off: 0};
  }
  return null;
}

const aheadOf = ball => Math.asin(ball.recess.rest_offset / (ball.track_radius + ball.recess.off_track));

function bySecants(at, from, to) {
  let low = from, high = to, last = 0, off = at(0).off, now = clip(-off, low, high), found = null;
  const narrow = (turn, value) => { if (value <= 0) low = Math.max(low, turn); else high = Math.min(high, turn); };
  for (let round = 0; round < SECANT_ROUNDS; round++) {
    narrow(last, off);
    found = at(now);
    const step = found.off * (now - last) / (found.off - off);
    if (Math.abs(found.off) <= SETTLED) return found;
    narrow(now, found.off);
    const ahead = now - (Number.isFinite(step) ? step : found.off);
    [last, off, now] = [now, found.off, low < ahead && ahead < high ? ahead : (low + high) / 2];
  }
  return found;
}

/** Sideways turns between which the balance lies: no push can take a ball past the middle of its recess. */
function boundsOf(knife, leaf, theta) {
  const moved = leaf.members.filter(i => leaf.levers[i] > MOVED);
  const middle = Math.max(0, ...moved.map(i => (theta + aheadOf(knife.balls[i])) / leaf.levers[i]));
  const rims = Math.max(0, ...moved.map(i => outlineRadius(knife.balls[i].recess) / knife.balls[i].track_radius / leaf.levers[i]));
  const most = mostFriction(knife) * greatestMoment(knife, leaf) * leaf.tilt;
  return [-(rims + most), middle + most + SETTLED];
}

/** Where the balance lies in a jump of the push: two states at one turn, in the shares that it asks for. */
function between(at, from, to) {
  const [low, high] = closeIn(omega => at(omega).off <= 0, from, to, BETWEEN_ROUNDS);
  return mixed(at(low), at(high));
}

/** Two states of one turn that are both true in a jump, in the shares that the balance asks for. */
function mixed(before, after) {
  const rise = after.off - before.off;
  const share = clip(-before.off / (rise > 0 ? rise : 1), 0, 1), both = {members: []};
  const mix = (one, other) => (1 - share) * one + share * other;
  for (const name of ["off", "omega", "psi", "moment", "faceLoad", "facePush", "energy"]) both[name] = mix(before[name], after[name]);
  after.members.forEach((each, k) => {
    const was = before.members[k], load = mix(was.load, each.load), onEdge = [RIM, CHAMFER].includes(each.lift.touch);
    const roundIt = onEdge && was.lift.cos_chi * each.lift.cos_chi < 0 && load > 0;
    both.members.push({
      ...each, load, push: mix(was.push, each.push), clearance: load > 0 ? 0 : each.clearance,
      lift: roundIt ? {...each.lift, touch: ROUND} : each.lift,
    });
  });
  return both;
}

/** All balls at one blade angle. sense: 1 opening from shut, −1 letting back, 0 no friction. torque: of the detent alone, + resists opening. */
function state(knife, theta, sense = 1) {
  const count = knife.balls.length, list = () => Array(count);
  const at = {theta, lifts: list(), angles: list(), loads: list(), pushes: list(), clearances: list(), psis: list(),
    carriers: [], moments: [], faceLoads: [], barAngles: [], energy: 0, torque: 0};
  for (const leaf of knife.bars) {
    const one = settled(knife, leaf, theta, sense, sense === 1 ? leaf.shut : null);
    for (const {i, lift, angle, load, push, clearance, psi} of one.members) {
      [at.lifts[i], at.angles[i], at.loads[i], at.pushes[i], at.clearances[i], at.psis[i]] = [lift, angle, load, push, clearance, psi];
      at.torque += push * knife.balls[i].track_radius;
    }
    const most = one.members[greatest(one.members.map(each => each.load))];
    at.carriers.push(one.faceLoad > most.load ? FACE : most.i);
    at.moments.push(one.moment);
    at.barAngles.push(one.psi);
    at.faceLoads.push(one.faceLoad);
    at.torque += one.facePush * knife.balls[leaf.members[0]].track_radius;
    at.energy += one.energy;
  }
  return at;
}

/** Drag of the pivot under the loads of balls with these lifts. */
function pivotDrag(knife, lifts, loads) {
  const {washer, washer_radius, pin, pin_radius, pivot_torque} = knife.friction;
  return pivot_torque + sum(loads.map((load, i) => F.F8({load, phi: lifts[i].phi, washer, washer_radius, pin, pin_radius})));
}

const dragAt = (knife, at) => pivotDrag(knife, at.lifts, at.loads);

const spread = (low, high, count) => Array.from({length: count}, (_, k) => low + (high - low) * (k / (count - 1)));

/** [last where `holds`, first where it does not] of ever finer numbers between low, where it does, and high, where it does not. */
function closeIn(holds, low, high, rounds = ROUNDS) {
  for (let round = 0; round < rounds; round++) {
    const start = low, width = high - low;
    for (let k = 1; k <= SECTIONS; k++) {
      const next = k === SECTIONS ? high : start + width * k / SECTIONS;
      if (k === SECTIONS || !holds(next)) {
        high = next;
        break;
      }
      low = next;
    }
  }
  return [low, high];
}

/** What each ball of a leaf touches where it is loaded, as a word to compare. */
const pattern = (at, leaf) => leaf.members.map(i => at.loads[i] > 0 ? at.lifts[i].touch + 1 : 0).join();

/** Where the pattern of a leaf changes between the given states, but where a single ball comes on to the flat: {angle, before}. */
function changesOf(knife, states, leaf) {
  const words = states.map(at => pattern(at, leaf)), found = [];
  for (let k = 0; k + 1 < states.length; k++) {
    if (words[k] === words[k + 1] || (leaf.members.length === 1 && words[k + 1] === String(FLAT + 1))) continue;
    const angle = closeIn(theta => pattern(state(knife, theta), leaf) === words[k], states[k].theta, states[k + 1].theta)[1];
    found.push({angle, before: leaf.members.filter(i => states[k].loads[i] > 0)});
  }
  return found;
}

function restAngle(knife) {
  const closes = theta => state(knife, theta, 0).torque > 0;
  if (closes(0)) return 0;
  const angles = spread(0, knife.breakOut, GRID), first = angles.findIndex(closes);
  if (first < 0) return knife.breakOut;
  const rest = closeIn(theta => !closes(theta), angles[first - 1], angles[first])[1];
  return rest > LIBRARY.just_after ? rest : 0;
}

/** Blade angle through which the rim sticks on opening before it slips. */
function takeUpOf(knife) {
  return Math.max(0, ...knife.bars.map(leaf => {
    const {members, omega, faceLoad} = leaf.resting;
    const slipping = ({lift, load}) => load * pushRatio(lift.touch === ROUND ? {...lift, cos_chi: 1} : lift, frictionOf(knife, lift));
    const side = sum(members.map(each => slipping(each) * leaf.across[each.i])) + faceLoad * onFlat(knife.friction) * leaf.across[members[0].i];
    return leaf.levers[members[greatest(members.map(each => each.load))].i] * (leaf.tilt * side - omega);
  }));
}

/** What ball i, or the bar face beside the first one, would do on opening if it carried its bar alone; lead: not below zero where it does. */
function alone(knife, leaf, i, angle) {
  const on = i === FACE ? leaf.members[0] : i, ball = knife.balls[on], found = lifted(knife, on, angle);
  const lift = i === FACE ? {...found, phi: 0, cos_chi: 1, rim_gap: 0, touch: FLAT, reach: 1} : found;
  const psi = i === FACE ? leaf.face : barAngle(leaf, ball, lift.demand), moment = momentAt(leaf, psi), load = moment / ball.hinge_distance;
  const push = load * pushRatio(lift, frictionOf(knife, lift)), omega = leaf.tilt * push * leaf.across[on], theta = angle + leaf.levers[on] * omega;
  const others = leaf.members.filter(j => j !== i).map(j => barAngle(leaf, knife.balls[j], lifted(knife, j, theta - leaf.levers[j] * omega).demand));
  if (i !== FACE) others.push(leaf.face);
  return {i, angle, theta, lift, load, moment, torque: push * ball.track_radius, lead: psi - Math.max(...others)};
}

const kindOf = one => (one.lead >= 0 ? 1 : 0) + (one.lift.touch === FLOOR ? 2 : 0);

/**
 * The opening of one leaf: for each ball and the bar face what it would do alone, at `count` relative angles and on both sides of its turns.
 * rest: blade angle at which the knife rests; off its stop that has its place among the points.
 */
function pathOf(knife, leaf, count, rest = 0) {
  const resting = rest > 0 ? settled(knife, leaf, rest, 1).members : [];
  return [...leaf.members, FACE].map(i => {
    const on = i === FACE ? leaf.members[0] : i, ball = knife.balls[on], flat = flatAngle(ball), just = LIBRARY.just_after;
    const round = leaf.resting.members.find(each => each.i === on).lift.touch === ROUND, at = angle => alone(knife, leaf, i, angle);
    const low = leaf.shut[on] + (round ? GRAIN : 0), dragged = at(flat + 2 * just);
    const high = Math.max(flat, knife.breakOut - dragged.theta + dragged.angle) + 2 * just;
    const known = [middleAngle(ball), flat, ...resting.filter(each => each.i === on).map(each => each.angle)];
    const beside = known.flatMap(turn => [turn, turn + just]).map(angle => clip(angle, low, high));
    const points = [...spread(low, high, count), ...beside].sort((a, b) => a - b).map(at);
    const sides = points.slice(1).flatMap((after, k) => {
      const kind = kindOf(points[k]);
      return kind === kindOf(after) ? [] : closeIn(angle => kindOf(at(angle)) === kind, points[k].angle, after.angle, SIDE_ROUNDS).map(at);
    });
    return [...points, ...sides].sort((a, b) => a.angle - b.angle);
  });
}

/** The point of one ball's path at which `measure` is greatest while it carries alone, looked at more closely round the best of its points. */
function topOf(knife, leaf, points, measure) {
  const value = one => one.lead >= 0 ? measure(one) : -Infinity, best = list => greatest(list.map(value));
  let now = points, k = best(points), top = points[k];
  for (let round = 0; round < TOP_ROUNDS; round++) {
    now = spread(now[Math.max(k - 1, 0)].angle, now[Math.min(k + 1, now.length - 1)].angle, ZOOM_POINTS).map(angle => alone(knife, leaf, top.i, angle));
    k = best(now);
    if (value(now[k]) > value(top)) top = now[k];
  }
  return top;
}

/** Greatest torque on opening with one bar, and the pivot's drag there. */
function peakAlone(knife, leaf, path) {
  const most = path.map(points => Math.max(...points.map(one => one.lead >= 0 ? one.torque : -Infinity)));
  const top = topOf(knife, leaf, path[greatest(most)], one => one.torque);
  return {torque: top.torque, drag: pivotDrag(knife, [top.lift], [top.load])};
}

/** Greatest torque on opening with two bars, and the pivot's drag there: searched over the blade angle. */
function peakTogether(knife, takeUp) {
  const torqueAt = theta => state(knife, theta).torque;
  const states = spread(0, knife.breakOut, GRID).map(theta => state(knife, theta));
  let angles = states.map(at => at.theta), torques = states.map(at => at.torque), best = greatest(torques);
  for (let round = 0; round < ZOOM_ROUNDS; round++) {
    angles = spread(angles[Math.max(best - 1, 0)], angles[Math.min(best + 1, angles.length - 1)], ZOOM_POINTS);
    torques = angles.map(torqueAt);
    best = greatest(torques);
  }
  // on either side of a step the torque can stand higher than at any angle of the grid
  const known = [takeUp, ...knife.leaving, ...knife.balls.map(middleAngle)].map(angle => Math.min(angle, knife.breakOut));
  const steps = [...known, ...knife.bars.flatMap(leaf => changesOf(knife, states, leaf).map(change => change.angle))];
  const beside = steps.flatMap(step => [-1, 1].map(side => Math.max(step + side * LIBRARY.just_after, 0)));
  const tops = [angles[best], ...beside].map(theta => state(knife, theta)), top = tops[greatest(tops.map(at => at.torque))];
  return {torque: top.torque, drag: dragAt(knife, top)};
}

/** The stretch in which the ball that carries at rest still sticks, where it hands over before it has slipped; a list of one or none. */
function sticking(knife, leaf, resting, first) {
  const [carrier] = resting.carriers, rest = resting.theta;
  if (first.first.theta <= rest || carrier === FACE || carrier === first.i) return [];
  const states = spread(rest, first.first.theta, GRID).map(theta => state(knife, theta));
  const change = changesOf(knife, states, leaf).find(({before}) => before.length === 1 && before[0] === carrier);
  return change ? [{i: carrier, first: states[0], last: state(knife, change.angle - LIBRARY.just_after)}] : [];
}

/** From where on another ball than the one that carries at rest is on its own, and slips. */
function takenOver(knife, path) {
  const resting = state(knife, 0, -1).carriers[0];
  return Math.min(Infinity, ...path.flat().filter(one => one.i !== resting && one.lead >= 0 && one.theta > 0).map(one => one.theta));
}

/** The handovers on opening with one bar: from one ball alone to another alone, {start, end, from, to, before, after}. */
function handoversOf(knife, leaf, resting) {
  const rest = resting.theta;
  const slipping = pathOf(knife, leaf, FINE, rest).flatMap(points => {
    const found = [];
    points.forEach((one, k) => {
      if (one.lead < 0) return;
      if (k === 0 || points[k - 1].lead < 0) found.push({i: one.i, first: one});
      found[found.length - 1].last = one;
    });
    return found;
  }).filter(each => each.last.theta > rest && each.first.theta < knife.breakOut).sort((a, b) => a.first.theta - b.first.theta);
  const stretches = [...sticking(knife, leaf, resting, slipping[0]), ...slipping];
  return stretches.slice(1).flatMap((after, k) => {
    const {i, last} = stretches[k];
    if (i === after.i || i === FACE || after.i === FACE) return [];
    return [{start: last.theta, end: after.first.theta, from: i, to: after.i, before: last.torque, after: after.first.torque}];
  });
}

/** Contact and friction angle together; 0 where a ball carries on no rim that it climbs. */
function lean(knife, {lift, load}) {
  if (!(load > 0) || smooth(lift) || lift.cos_chi <= 0) return 0;
  const angle = Math.atan(pushRatio(lift, knife.friction.rim));
  return angle < 0 ? angle + Math.PI : angle;
}

/** The point of a path in which its ball leans most. */
function steepest(knife, leaf, points) {
  const most = points[greatest(points.map(one => one.lead >= 0 ? lean(knife, one) : 0))];
  return lean(knife, most) > LIBRARY.near_jam ? topOf(knife, leaf, points, one => lean(knife, one)) : most;
}

/** What the mechanics cannot do: {where, limit, value} for each broken limit. */
function brokenLimits(knife, paths) {
  const found = [];
  knife.bars.forEach((leaf, k) => {
    leaf.members.forEach((i, row) => {
      const where = `balls[${i}].recess.diameter`, ball = knife.balls[i], radius = ball.diameter / 2, points = paths[k][row];
      const gap = Math.max(lift(ball, middleAngle(ball)).rim_gap, ...points.map(one => one.lift.rim_gap));
      if (gap >= radius * JUST_BELOW) {
        found.push({where, limit: "drops", value: gap});
        return;
      }
      const worst = steepest(knife, leaf, points);
      if (worst.lead >= 0 && lean(knife, worst) > LIBRARY.jam_from) found.push({where, limit: "jams", value: worst.lift.phi});
    });
    const least = Math.min(...paths[k].flat().filter(one => one.lead >= 0).map(one => one.moment));
    if (least <= 0) found.push({where: `${leaf.name}.riding_force`, limit: "slack", value: least / leaf.arm});
  });
  if (knife.bars.some(leaf => Math.abs(leaf.resting.off) > BALANCED)) found.push({where: "bar.side_compliance", limit: "unbalanced"});
  if (knife.balls.length > 1 && bearing(knife, 0) !== null && bearing(knife, 1) !== null) {
    const [inner, outer] = knife.balls.map(ball => ball.track_radius + ball.recess.off_track);
    const ahead = recess => Math.asin(recess.rest_offset / (recess === knife.balls[0].recess ? inner : outer));
    const [from, to] = knife.balls.map((ball, i) => radians(bearing(knife, i)) + ahead(ball.recess));
    const apart = F.L2({theta: to - from, track_radius: inner, off_track: outer - inner, rest_offset: 0}).distance;
    if (apart < sum(knife.balls.map(ball => outlineRadius(ball.recess)))) found.push({where: "balls[1].recess", limit: "overlap", value: apart});
  }
  return found;
}

/** What one knife feels like, as dl.feel; `limits` holds what breaks, and then the rest means nothing. */
function feelOf(given) {
  const knife = prepared(given), last = knife.breakOut, [leaf] = knife.bars, one = knife.bars.length === 1;
  const paths = knife.bars.map(each => pathOf(knife, each, COARSE)), limits = brokenLimits(knife, paths);
  if (limits.length) return {limits};
  const rest = restAngle(knife), takeUp = Math.min(takeUpOf(knife), one ? takenOver(knife, paths[0]) : Infinity), peak = one ? peakAlone(knife, leaf, paths[0]) : peakTogether(knife, takeUp);
  const resting = state(knife, rest, -1), riding = state(knife, last + LIBRARY.just_after), free = state(knife, last + LIBRARY.just_after, 0);
  const {rim} = knife.friction, arm = knife.blade.tab_arm, atTab = value => F.F5({torque: value, arm});
  const holds = rim <= LIBRARY.off_track_mu || knife.balls.every(ball => Math.abs(ball.recess.off_track) <= LIBRARY.off_track_limit);
  const shut = Object.assign([], ...knife.bars.map(each => ({...each.shut})));
  return {
    limits, knife,
    break_force: atTab(peak.torque),
    letback_force: holds ? atTab(resting.torque) : null,
    gauge_break_force: atTab(peak.torque + peak.drag),
    gauge_letback_force: holds ? atTab(resting.torque - dragAt(knife, resting)) : null,
    barrier: free.energy - resting.energy,
    break_out_deg: degrees(last), rest_deg: degrees(rest), take_up_deg: degrees(takeUp),
    loaded_offset: knife.balls.map((ball, i) => ball.recess.rest_offset + shut[i] * ball.track_radius),
    rest_load: sum(resting.loads) + sum(resting.faceLoads), ride_load: sum(riding.loads) + sum(riding.faceLoads),
    handovers: one && leaf.members.length > 1 ? handoversOf(knife, leaf, resting) : [],
  };
}
