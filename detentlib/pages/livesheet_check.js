// The page works out again what the library worked out when the sheet was made, and says whether the two agree.

const CLOSE = 1e-9;
// N, mJ, mm, N·mm or degree: of smaller numbers the part is one of this, as what is left of two forces has no more digits
const SMALL = 0.01;

/** [name, number] of everything that a setting is compared in, in the order of `_told` in livesheet.py. */
function numbersOf(found, angles) {
  const {knife, handovers} = found;
  const list = DATA.felt.flatMap(name => [found[name]].flat().map((number,
    i, {length}) => [`${name.replaceAll("_", " ")}${length > 1 ? ` ${i + 1}` : ""}`, number]));
  for (const angle of angles) {
    const [opening, closing] = [1, -1].map(sense => state(knife, radians(angle), sense));
    const where = `at ${angle.toFixed(2)}°`;
    list.push([`torque opening ${where}`, opening.torque], [`torque letting back ${where}`, closing.torque],
      [`gap ${where}`, gapOf(knife, opening)]);
  }
  list.push(["number of handovers", handovers.length]);
  handovers.forEach(({start, end, ...rest}, k) => {
    const each = {start: degrees(start), end: degrees(end), ...rest};
    list.push(...["start", "end", "from", "to", "before",
      "after"].map(name => [`handover ${k + 1}, ${name}`, each[name]]));
  });
  return list;
}

/** Works out again what the library worked out: {count, settings, refused, worst, wrong: [sentence, …]}. */
function selfTest() {
  const told = {count: 0, settings: 0, refused: 0, worst: 0, wrong: []};
  for (const {values, second, refused, angles, numbers} of DATA.checks) {
    const found = tried(values, second), paths = Object.keys(values);
    const moved = DATA.movers.find(each => each.path === paths[0]);
    const which = paths.length > 1 ? "several numbers moved" : moved ? `${moved.label} ${values[moved.path]}`
      : "as it came";
    const where = `${which}, ${second ? "two balls" : "one ball"}`;
    if (refused || found.refused) {
      const [theirs, mine] = [refused, found.refused?.where].map(path => path ? `refuses ${path}` : "accepts it");
      if (refused?.includes(found.refused?.where)) told.refused += 1;
      else told.wrong.push(`${where}: the library ${theirs}, this page ${mine}`);
      continue;
    }
    const mine = numbersOf(found, angles);
    told.settings += 1;
    told.count += mine.length;
    mine.forEach(([name, got], k) => {
      const wanted = numbers[k], off = wanted === got ? 0 : Math.abs(got - wanted) / Math.max(Math.abs(wanted), SMALL);
      if (!(off <= CLOSE)) told.wrong.push(`${where}, ${name}: the library ${wanted}, this page ${got}`);
      else told.worst = Math.max(told.worst, off);
    });
  }
  return told;
}
