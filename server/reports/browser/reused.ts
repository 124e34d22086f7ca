/**
 * `now` with every part that is as it was in `before` taken from there: what was found from such a part is known by the
 * part itself. Plain objects and lists only, as a report is that was read from the disk.
 */
export function reused<Value>(before: unknown, now: Value): Value {
  if (isSame(before, now)) return before as Value;
  if (Array.isArray(before) && Array.isArray(now)) {
    return now.map((item, at) => reused(before[at], item)) as Value;
  }
  if (!isPlain(before) || !isPlain(now)) return now;
  return Object.fromEntries(
    Object.entries(now).map(([name, part]) => [name, reused(before[name], part)]),
  ) as Value;
}

// Most of a report is, after each change: without anything made on the way.
function isSame(one: unknown, other: unknown): boolean {
  if (Object.is(one, other)) return true;
  if (Array.isArray(one)) {
    if (!Array.isArray(other) || one.length !== other.length) return false;
    for (let at = 0; at < one.length; at++) if (!isSame(one[at], other[at])) return false;
    return true;
  }
  if (!isPlain(one) || !isPlain(other)) return false;
  let names = 0;
  for (const name in one) {
    if (!Object.hasOwn(other, name) || !isSame(one[name], other[name])) return false;
    names++;
  }
  return names === Object.keys(other).length;
}

function isPlain(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && Object.getPrototypeOf(value) === Object.prototype;
}
