/** One game of a round: who plays at home, and who visits. */
type Pair = readonly [home: string, visitor: string];

/**
 * Every team meets every other once, in one round fewer than there are teams (an even number): the circle method of
 * Kirkman (1847, "On a problem in combinations", Cambridge and Dublin Mathematical Journal 2), with home and away as
 * de Werra gives them (1981, "Scheduling in sports", Annals of Discrete Mathematics 11): in round i the last team
 * meets team i, and the teams i + k and i - k meet, the former at home when k is odd. No orientation has fewer weeks
 * in which a team plays at home or away twice running (teams - 2 of them), and none plays so three times.
 */
export function singleRoundRobin(teams: readonly string[]): Pair[][] {
  const turning = teams.length - 1;
  const team = (at: number) => teams[((at % turning) + turning) % turning] as string;
  const last = teams[turning] as string;
  return Array.from({ length: turning }, (_, round) => {
    const pairs: Pair[] = [round % 2 === 0 ? [team(round), last] : [last, team(round)]];
    for (let k = 1; k < teams.length / 2; k += 1) {
      const [ahead, behind] = [team(round + k), team(round - k)];
      pairs.push(k % 2 === 1 ? [ahead, behind] : [behind, ahead]);
    }
    return pairs;
  });
}

/** At home (true) or away, week by week, for each team. */
export function homeOrAway(rounds: readonly (readonly Pair[])[]): Map<string, boolean[]> {
  const weeks = new Map<string, boolean[]>();
  const note = (team: string, home: boolean) => weeks.set(team, [...(weeks.get(team) ?? []), home]);
  for (const [home, visitor] of rounds.flat()) {
    note(home, true);
    note(visitor, false);
  }
  return weeks;
}

/** Does any team play at home, or away, more than twice running, or one kind two games oftener than the other? */
function isUneven(rounds: readonly (readonly Pair[])[]): boolean {
  return [...homeOrAway(rounds).values()].some((weeks) => {
    const home = weeks.filter(Boolean).length;
    const thrice = weeks.some((here, at) => at >= 2 && here === weeks[at - 1] && here === weeks[at - 2]);
    return thrice || Math.abs(2 * home - weeks.length) > 1;
  });
}

/**
 * A single round robin, then as many return rounds (venues changed) as there are weeks left: the first that keep the
 * season even, so that every pair meets once and some twice, never in two weeks running.
 * Throws when no return rounds fit.
 */
export function seasonRounds(teams: readonly string[], weeks: number): Pair[][] {
  const first = singleRoundRobin(teams);
  const returns = first.map((round) => round.map(([home, visitor]): Pair => [visitor, home]));
  const extend = (made: Pair[][], left: ReadonlySet<number>): Pair[][] | undefined => {
    if (made.length === weeks) return isUneven(made) ? undefined : made;
    for (const at of left) {
      // Not before four weeks have gone by since the pairs met.
      if (made.length - at < 5) continue;
      const rest = new Set([...left].filter((other) => other !== at));
      const found = extend([...made, returns[at] as Pair[]], rest);
      if (found !== undefined) return found;
    }
    return undefined;
  };
  const made = extend(first.slice(0, weeks), new Set(first.keys()));
  if (made === undefined) throw new Error(`No even season of ${weeks} weeks for ${teams.length} teams.`);
  return made;
}
