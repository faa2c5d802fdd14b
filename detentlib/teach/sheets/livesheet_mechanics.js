// What the library does in lift, bar, carry, limits, search and feel, in the same order and with the same steps, so that
// both give the same numbers. The physics itself stands in F, printed from the library's register of formulas.

const FLAT = 0, RIM = 1, CHAMFER = 2, FLOOR = 3;
const FACE = -1;
const JUST_BELOW = 1 - 1e-9;
const GRID = 65, FINE = 1025, CLOSER = 257, PART = 9, JAM_ROUNDS = 12, SECTIONS = 64, ROUNDS = 4, ZOOM_ROUNDS = 5, ZOOM_POINTS = 9;
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

/** The knife with what does not depend on the blade angle worked out once: springs, and which recesses each ball can meet. */
function prepared(knife) {
  const bars = [knife.bar, knife.second_bar].flatMap((bar, which) => {
    if (!bar) return [];
    const members = knife.balls.flatMap((ball, i) => ball.bar === which ? [i] : []);
    const first = knife.balls[members[0]];
    const parallel = bar.parallel_gap === null ? first.protrusion : bar.parallel_gap;
    return [{
      bar, members, parallel, arm: first.hinge_distance,
      kappa: F.B4a({rate: bar.rate, hinge_distance_1: first.hinge_distance}),
      psi_ride: F.B4({gap: first.protrusion, parallel_gap: parallel, hinge_distance: first.hinge_distance}),
    }];
  });
  const met = knife.balls.map((_, i) => knife.balls.flatMap((_, j) => j !== i && crosses(knife, i, j) ? [j] : []));
  return {...knife, bars, met};
}

/** Lift of a ball: the deepest over its own recess and every other that it can cross. */
function lifted(knife, i, theta) {
  const ball = knife.balls[i];
  let least = lift(ball, theta);
  for (const j of knife.met[i]) {
    const other = knife.balls[j];
    const place = F.L8({
      theta, bearing_ball: radians(bearing(knife, i)), bearing_other: radians(bearing(knife, j)),
      track_radius: ball.track_radius, track_radius_other: other.track_radius, off_track: other.recess.off_track,
    });
    const there = lift(ball, place.theta, other.recess, place.off_track);
    if (there.sink > least.sink) least = there;
  }
  return least;
}

/** All balls at one blade angle: on each bar the ball with the largest demand carries all. */
function state(knife, theta) {
  const count = knife.balls.length;
  const at = {theta, lifts: Array(count), loads: Array(count).fill(0), clearances: Array(count).fill(0), psis: Array(count),
    carriers: [], moments: [], faceLoads: [], barAngles: [], energy: 0};
  for (const leaf of knife.bars) {
    const face = F.B4({gap: 0, parallel_gap: leaf.parallel, hinge_distance: leaf.arm});
    let psi = face, carrier = FACE;
    for (const i of leaf.members) {
      at.lifts[i] = lifted(knife, i, theta);
      at.psis[i] = F.B4({gap: at.lifts[i].demand, parallel_gap: leaf.parallel, hinge_distance: knife.balls[i].hinge_distance});
      if (at.psis[i] > psi || (i === leaf.members[0] && at.psis[i] >= psi)) {
        psi = at.psis[i];
        carrier = i;
      }
    }
    const moment = F.B5({psi, psi_ride: leaf.psi_ride, riding_force: leaf.bar.riding_force, hinge_distance_1: leaf.arm, kappa: leaf.kappa});
    for (const i of leaf.members) {
      const ball = knife.balls[i];
      if (i === carrier) {
        at.loads[i] = moment / ball.hinge_distance;
      } else {
        at.clearances[i] = F.C1({psi, psi_ball: at.psis[i], hinge_distance: ball.hinge_distance});
      }
    }
    at.carriers.push(carrier);
    at.moments.push(moment);
    at.barAngles.push(psi);
    at.faceLoads.push(carrier === FACE ? moment / leaf.arm : 0);
    at.energy += F.E1({moment, kappa: leaf.kappa});
  }
  return at;
}

const smooth = lifted => lifted.touch === FLAT || lifted.touch === FLOOR;
const onFlat = friction => friction.flat === null ? friction.rim : friction.flat;
const sum = numbers => numbers.reduce((total, number) => total + number, 0);

/** Torque of the detent alone, + resists opening. sense: 1 opening, −1 letting back, 0 no friction. */
function torque(knife, at, sense) {
  const {rim} = knife.friction, flat = onFlat(knife.friction);
  let total = 0;
  knife.balls.forEach((ball, i) => {
    const {phi, cos_chi} = at.lifts[i], load = at.loads[i];
    if (sense === 0) total += F.F1({load, track_radius: ball.track_radius, phi, cos_chi});
    else total += load * ball.track_radius * F.F2({phi, mu: sense * (smooth(at.lifts[i]) ? flat : rim), cos_chi});
  });
  knife.bars.forEach((leaf, k) => {
    total += F.F4({load: at.faceLoads[k], track_radius: knife.balls[leaf.members[0]].track_radius, mu: sense * flat});
  });
  return total;
}

function pivotDrag(knife, at) {
  const {washer, washer_radius, pin, pin_radius, pivot_torque} = knife.friction;
  return pivot_torque + sum(at.loads.map((load, i) => F.F8({load, phi: at.lifts[i].phi, washer, washer_radius, pin, pin_radius})));
}

const spread = (low, high, count) => Array.from({length: count}, (_, k) => low + (high - low) * (k / (count - 1)));

/** The first of ever finer angles between low, where `holds`, and high, where it does not, at which it no longer holds. */
function closeIn(holds, low, high) {
  for (let round = 0; round < ROUNDS; round++) {
    const start = low, width = high - low;
    for (let k = 1; k <= SECTIONS; k++) {
      const angle = k === SECTIONS ? high : start + width * k / SECTIONS;
      if (k === SECTIONS || !holds(angle)) {
        high = angle;
        break;
      }
      low = angle;
    }
  }
  return high;
}

/** Which balls of a leaf are loaded, and what each touches, as a word to compare. */
function pattern(at, leaf) {
  return leaf.members.map(i => at.loads[i] > 0 ? at.lifts[i].touch + 1 : 0).join();
}

const loaded = (word, leaf) => leaf.members.filter((_, k) => word.split(",")[k] !== "0");

/** {angle, before, after} for every change of pattern between the given states. */
function changesOf(knife, states, leaf) {
  const words = states.map(at => pattern(at, leaf)), found = [];
  for (let k = 0; k + 1 < states.length; k++) {
    if (words[k] === words[k + 1]) continue;
    const angle = closeIn(theta => pattern(state(knife, theta), leaf) === words[k], states[k].theta, states[k + 1].theta);
    found.push({angle, before: words[k], after: words[k + 1]});
  }
  return found;
}

function restAngle(knife, states) {
  const closing = states.map(at => torque(knife, at, 0) > 0), first = closing.indexOf(true);
  if (first < 0) return states[states.length - 1].theta;
  if (first === 0) return 0;
  const high = closeIn(theta => torque(knife, state(knife, theta), 0) <= 0, states[first - 1].theta, states[first].theta);
  return high > LIBRARY.just_after ? high : 0;
}

const greatest = numbers => numbers.indexOf(Math.max(...numbers));

function peakOf(knife, states) {
  let angles = states.map(at => at.theta), torques = states.map(at => torque(knife, at, 1)), best = greatest(torques);
  let angle = angles[best], value = torques[best];
  for (let round = 0; round < ZOOM_ROUNDS; round++) {
    angles = spread(angles[Math.max(best - 1, 0)], angles[Math.min(best + 1, angles.length - 1)], ZOOM_POINTS);
    torques = angles.map(theta => torque(knife, state(knife, theta), 1));
    best = greatest(torques);
    angle = angles[best];
    value = torques[best];
  }
  // on either side of a step the torque can stand higher than at any angle of the grid
  const beside = knife.balls.flatMap(ball => [middleAngle(ball), flatAngle(ball)]);
  for (const leaf of knife.bars) {
    for (const change of changesOf(knife, states, leaf)) {
      if (leaf.members.length === 1 && change.after === String(FLAT + 1)) continue;
      beside.push(change.angle);
    }
  }
  for (const step of beside) {
    for (const side of [-1, 1]) {
      const there = Math.max(step + side * LIBRARY.just_after, 0), found = torque(knife, state(knife, there), 1);
      if (found > value) [angle, value] = [there, found];
    }
  }
  return {angle, value};
}

function handoversOf(knife, last) {
  const states = spread(0, last, FINE).map(theta => state(knife, theta)), found = [];
  for (const leaf of knife.bars.filter(each => each.members.length > 1)) {
    let alone = null, since = null;
    for (const change of changesOf(knife, states, leaf)) {
      const before = loaded(change.before, leaf), after = loaded(change.after, leaf);
      if (before.length === 1) [alone, since] = [before[0], change.angle];
      if (after.length === 1 && alone !== null && after[0] !== alone) {
        const ends = [since - LIBRARY.just_after, change.angle + LIBRARY.just_after];
        const [before, behind] = ends.map(theta => torque(knife, state(knife, theta), 1));
        found.push({angle: (ends[0] + ends[1]) / 2, from: alone, to: after[0], before, after: behind});
      }
    }
  }
  return found.sort((a, b) => a.angle - b.angle);
}

/** Contact and friction angle of ball i together; 0 where it carries on no rim that it climbs. */
function lean(knife, at, i) {
  const {phi, cos_chi} = at.lifts[i];
  if (!(at.loads[i] > 0) || smooth(at.lifts[i]) || cos_chi <= 0) return 0;
  const angle = Math.atan(F.F2({phi, mu: knife.friction.rim, cos_chi}));
  return angle < 0 ? angle + Math.PI : angle;
}

/** The state in which ball i leans most over the whole opening; a stretch on which it carries may begin between two angles. */
function steepest(knife, states, i) {
  const ball = knife.balls[i], most = list => list[greatest(list.map(at => lean(knife, at, i)))];
  const deepest = lift({...ball, recess: {...ball.recess, depth: null}}, middleAngle(ball)).phi;
  const bound = LIBRARY.jam_from - Math.atan(knife.friction.rim);
  if (Math.max(deepest, ...states.map(at => at.lifts[i].phi)) <= bound) return most(states);
  const around = (list, best) => spread(list[Math.max(best - 1, 0)].theta, list[Math.min(best + 1, list.length - 1)].theta, PART);
  const coarse = spread(0, states[states.length - 1].theta, CLOSER).map(theta => state(knife, theta));
  const idle = coarse.map(at => at.loads[i] > 0 ? Infinity : at.clearances[i]);
  const extra = [...around(coarse, idle.indexOf(Math.min(...idle))), middleAngle(ball) + LIBRARY.just_after].map(theta => state(knife, theta));
  const fine = [...coarse, ...extra].sort((a, b) => a.theta - b.theta);
  const starts = knife.bars.flatMap(leaf => changesOf(knife, fine, leaf)).map(change => state(knife, change.angle + LIBRARY.just_after));
  const found = [most(fine), ...starts];
  for (let round = 0, now = fine; round < JAM_ROUNDS; round++) {
    now = around(now, greatest(now.map(at => lean(knife, at, i)))).map(theta => state(knife, theta));
    found.push(most(now));
  }
  return most(found);
}

/** What the mechanics cannot do: {where, why} for each broken limit. */
function brokenLimits(knife, states) {
  const found = [];
  knife.balls.forEach((ball, i) => {
    const where = `balls[${i}].recess.diameter`, radius = ball.diameter / 2;
    const gap = Math.max(lift(ball, middleAngle(ball)).rim_gap, ...states.map(at => at.lifts[i].rim_gap));
    if (gap >= radius * JUST_BELOW) {
      found.push({where, limit: "drops", value: gap});
      return;
    }
    const worst = steepest(knife, states, i);
    if (lean(knife, worst, i) > LIBRARY.jam_from) found.push({where, limit: "jams", value: worst.lifts[i].phi});
  });
  knife.bars.forEach((leaf, k) => {
    const least = Math.min(...states.map(at => at.moments[k]));
    if (least <= 0) found.push({where: `${leaf.bar === knife.bar ? "bar" : "second_bar"}.riding_force`, limit: "slack", value: least / leaf.arm});
  });
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
  const knife = prepared(given);
  const last = Math.max(...knife.balls.map(flatAngle));
  const states = spread(0, last, GRID).map(theta => state(knife, theta));
  const limits = brokenLimits(knife, states);
  if (limits.length) return {limits};
  const rest = restAngle(knife, states), peak = peakOf(knife, states);
  const resting = state(knife, rest + (rest > 0 ? LIBRARY.just_after : 0)), riding = state(knife, last + LIBRARY.just_after);
  const {rim} = knife.friction, arm = knife.blade.tab_arm, atTab = value => F.F5({torque: value, arm});
  const holds = rim <= LIBRARY.off_track_mu || knife.balls.every(ball => Math.abs(ball.recess.off_track) <= LIBRARY.off_track_limit);
  const letback = torque(knife, resting, -1);
  return {
    limits, knife, last,
    break_force: atTab(peak.value), peak: peak.angle,
    letback_force: holds ? atTab(letback) : null,
    gauge_break_force: atTab(peak.value + pivotDrag(knife, state(knife, peak.angle))),
    gauge_letback_force: holds ? atTab(letback - pivotDrag(knife, resting)) : null,
    barrier: riding.energy - resting.energy,
    break_out_deg: degrees(last), rest_deg: degrees(rest),
    rest_load: sum(resting.loads) + sum(resting.faceLoads), ride_load: sum(riding.loads) + sum(riding.faceLoads),
    handovers: handoversOf(knife, last),
  };
}
