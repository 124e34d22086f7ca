/** Sets of unknowns in which each is tied to every other: set s is `members[start[s]]` to `start[s + 1]`. */
export interface Cliques {
  start: Int32Array;
  members: Int32Array;
}

/** How eliminating the unknowns of a sparse symmetric system goes: in which order, and what each touches. */
interface Elimination {
  /** `order[k]` is the unknown eliminated in step k. */
  order: Int32Array;
  /** For each unknown, those not yet eliminated that its elimination ties together (unsorted). */
  ties: (Int32Array | null)[];
  /** From this step on every remaining unknown is tied to all others (`ties` is null there). */
  denseFrom: number;
}

/**
 * Orders unknowns so that elimination fills in little: always the one with the fewest remaining
 * neighbours, by the approximate degree of Amestoy, Davis and Duff (1996), "An approximate minimum degree
 * ordering algorithm", SIAM Journal on Matrix Analysis and Applications 17(4). The matrix is given, and
 * kept, as the sets of unknowns it ties together (*elements*), so no fill is stored during the search.
 */
export function minimumDegree(size: number, cliques: Cliques): Elimination {
  const sets = cliques.start.length - 1;
  // Elements: first the cliques, then sets + i, made when unknown i is eliminated.
  const members: (Int32Array | null)[] = [];
  for (let s = 0; s < sets; s += 1) {
    members.push(cliques.members.subarray(cliques.start[s], cliques.start[s + 1]));
  }
  for (let i = 0; i < size; i += 1) members.push(null);

  // The elements that each unknown is in. Such a list never grows: what is made replaces what it absorbs.
  const listStart = new Int32Array(size + 1);
  for (const i of cliques.members) listStart[i + 1]! += 1;
  for (let i = 0; i < size; i += 1) listStart[i + 1]! += listStart[i]!;
  const listEnd = listStart.slice(0, size);
  const lists = new Int32Array(cliques.members.length);
  for (let s = 0; s < sets; s += 1) for (const i of members[s]!) lists[listEnd[i]!++] = s;

  const seen = new Int32Array(size).fill(-1);
  const degree = new Int32Array(size);
  for (let i = 0; i < size; i += 1) {
    seen[i] = i;
    let count = 0;
    for (let e = listStart[i]!; e < listEnd[i]!; e += 1) {
      const element = lists[e]!;
      const end = cliques.start[element + 1]!;
      for (let m = cliques.start[element]!; m < end; m += 1) {
        const other = cliques.members[m]!;
        if (seen[other] !== i) {
          seen[other] = i;
          count += 1;
        }
      }
    }
    degree[i] = count;
  }
  // Entries go stale when a degree changes; a stale one is skipped when it comes up.
  const byDegree: number[][] = Array.from({ length: size + 1 }, () => []);
  for (let i = size - 1; i >= 0; i -= 1) byDegree[degree[i]!]!.push(i);

  seen.fill(-1);
  const sizeOf = Int32Array.from(members, (list) => list?.length ?? 0);
  const countedAt = new Int32Array(sets + size).fill(-1);
  const beyond = new Int32Array(sets + size);
  const tiedBuffer = new Int32Array(size);
  const eliminated = new Uint8Array(size);
  const order = new Int32Array(size);
  const ties: (Int32Array | null)[] = new Array(size).fill(null);
  let lowest = 0;
  for (let step = 0; step < size; step += 1) {
    let pivot = -1;
    while (pivot < 0) {
      const candidate = byDegree[lowest]!.pop();
      if (candidate === undefined) lowest += 1;
      else if (!eliminated[candidate] && degree[candidate] === lowest) pivot = candidate;
    }
    if (lowest >= size - step - 1) {
      let next = step;
      for (let i = 0; i < size; i += 1) if (!eliminated[i]) order[next++] = i;
      return { order, ties, denseFrom: step };
    }

    // The pivot's elements become one, which ties together all their other members.
    eliminated[pivot] = 1;
    order[step] = pivot;
    seen[pivot] = step;
    let count = 0;
    for (let e = listStart[pivot]!; e < listEnd[pivot]!; e += 1) {
      const list = members[lists[e]!]!;
      for (let m = 0; m < list.length; m += 1) {
        const i = list[m]!;
        if (seen[i] !== step) {
          seen[i] = step;
          tiedBuffer[count++] = i;
        }
      }
      members[lists[e]!] = null;
      countedAt[lists[e]!] = size;
    }
    const tied = tiedBuffer.slice(0, count);
    ties[pivot] = tied;
    members[sets + pivot] = tied;
    sizeOf[sets + pivot] = count;

    // How many members every other element has beyond the new one.
    for (let t = 0; t < count; t += 1) {
      const i = tied[t]!;
      const end = listEnd[i]!;
      for (let e = listStart[i]!; e < end; e += 1) {
        const element = lists[e]!;
        const at = countedAt[element]!;
        if (at === step) beyond[element]! -= 1;
        else if (at !== size) {
          countedAt[element] = step;
          beyond[element] = sizeOf[element]! - 1;
        }
      }
    }
    for (let t = 0; t < count; t += 1) {
      const i = tied[t]!;
      const end = listEnd[i]!;
      let estimate = count - 1;
      let kept = listStart[i]!;
      for (let e = kept; e < end; e += 1) {
        const element = lists[e]!;
        // Absorbed into the new element just now, or wholly inside it and so saying nothing more.
        if (countedAt[element] === size || beyond[element] === 0) continue;
        estimate += beyond[element]!;
        lists[kept++] = element;
      }
      lists[kept++] = sets + pivot;
      listEnd[i] = kept;
      estimate = Math.min(estimate, size - step - 2);
      degree[i] = estimate;
      byDegree[estimate]!.push(i);
      if (estimate < lowest) lowest = estimate;
    }
  }
  return { order, ties, denseFrom: size };
}
