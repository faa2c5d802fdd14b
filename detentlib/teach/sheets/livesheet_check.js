// The page works out again what the library worked out when the sheet was made, and says whether the two agree.

const CLOSE = 1e-9;
const NOTHING = 1e-4; // what is left of two numbers round 100 has no digits a part in 10⁹ of this down

/** Works out again what the library worked out: {count, settings, refused, worst, wrong: [sentence, …]}. */
function selfTest() {
  const told = {count: 0, settings: 0, refused: 0, worst: 0, wrong: []};
  for (const check of DATA.checks) {
    const found = tried(check.values, check.second), where = setting(check);
    if (check.refused || found.refused) {
      told.refused += 1;
      const [theirs, mine] = [check.refused, found.refused?.where].map(path => path ? `refuses ${path}` : "accepts it");
      if (!check.refused?.includes(found.refused?.where)) told.wrong.push(`${where}: the library ${theirs}, this page ${mine}`);
      continue;
    }
    told.settings += 1;
    for (const [name, wanted, got] of pairs(check, found)) {
      told.count += 1;
      const off = wanted === got ? 0 : Math.abs(got - wanted) / Math.max(Math.abs(wanted), NOTHING);
      if (!(off <= CLOSE)) told.wrong.push(`${where}, ${name}: the library ${wanted}, this page ${got}`);
      else told.worst = Math.max(told.worst, off);
    }
  }
  return told;
}

/** A setting in words. */
function setting({values, second}) {
  const paths = Object.keys(values), labels = Object.fromEntries(DATA.movers.map(each => [each.path, each.label]));
  const which = paths.length === 0 ? "as it came" : paths.length === 1 ? `${labels[paths[0]]} ${values[paths[0]]}` : "several numbers moved";
  return `${which}, ${second ? "two balls" : "one ball"}`;
}

/** [name, what the library says, what this page says] of everything in one setting. */
function pairs(check, found) {
  const {knife} = found, rest = state(knife, radians(found.rest_deg), -1), got = {...found};
  knife.balls.forEach((_, i) => {
    got[`contact_${i + 1}`] = degrees(rest.lifts[i].phi);
    got[`clearance_${i + 1}`] = rest.clearances[i];
    got[`offset_${i + 1}`] = found.loaded_offset[i];
  });
  const list = Object.entries(check.numbers).map(([name, wanted]) => [name.replaceAll("_", " "), wanted, got[name]]);
  check.angles.forEach((angle, k) => {
    const at = state(knife, radians(angle)), leaf = knife.bars[0], where = `at ${angle.toFixed(2)}°`;
    list.push([`torque opening ${where}`, check.opening[k], at.torque], [`torque letting back ${where}`, check.closing[k], state(knife, at.theta, -1).torque]);
    list.push([`gap ${where}`, check.gaps[k], leaf.parallel + at.barAngles[0] * leaf.arm]);
  });
  list.push(["number of handovers", check.handovers.length, found.handovers.length]);
  check.handovers.forEach((each, k) => {
    const mine = found.handovers[k] || {};
    ["start", "end", "from ball", "to ball", "torque before", "torque after"].forEach((name, n) => {
      list.push([`handover ${k + 1}, ${name}`, each[n], [degrees(mine.start), degrees(mine.end), mine.from, mine.to, mine.before, mine.after][n]]);
    });
  });
  return list;
}

function reportSelfTest() {
  const {count, settings, refused, worst, wrong} = selfTest();
  const place = byId("self-test"), alarm = byId("wrong");
  alarm.hidden = wrong.length === 0;
  if (wrong.length) {
    const said = `This sheet does not agree with the library: do not use its numbers. ${wrong.length} of its checks failed, the first: ${wrong[0]}.`;
    write(place, said);
    write(alarm, said);
    return;
  }
  const power = worst > 0 ? Math.floor(-Math.log10(worst)) : 15;
  const agrees = `This sheet agrees with the library on ${count} numbers at ${settings} settings to 1 part in 10⁹`;
  write(place, `${agrees}; the worst is off by less than 1 part in 10${superscript(power)}. It refuses the same ${refused} settings that cannot be.`);
}

const superscript = number => [...String(number)].map(digit => "⁰¹²³⁴⁵⁶⁷⁸⁹"[digit]).join("");
