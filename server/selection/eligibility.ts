import { dayInWords } from '../text/days.ts';
import { type GradedIn, gamesLately, type OfficialToSelect } from './candidate.ts';
import type { Finding, Holds, SelectionRuleName } from './finding.ts';
import type { SelectionRules } from './rules.ts';

/**
 * How an official stands in each rule of eligibility, for a position and a day. A rule that the selection does not have
 * gives no finding.
 * @param playedOn the day of the game; null where no game is asked about: what hangs on the day is then told without it
 */
export function eligibility(
  official: OfficialToSelect,
  graded: GradedIn,
  rules: SelectionRules,
  playedOn: string | null,
): Finding[] {
  const { facts } = official;
  const findings: Finding[] = [];
  const say = (rule: SelectionRuleName, holds: Holds, why: string) =>
    findings.push({
      rule,
      holds,
      why,
      leavesOut: holds === 'not met' || (holds === 'not known' && rules.notKnown === 'leave out'),
    });
  /** What has to reach a least number. */
  const least = (
    rule: SelectionRuleName,
    value: number | null,
    needed: number | null,
    words: (n: number) => string,
  ) => {
    if (needed === null) return;
    if (value === null) say(rule, 'not known', `not known; ${words(needed)} needed at least`);
    else say(rule, value >= needed ? 'met' : 'not met', `${words(value)}, at least ${needed} needed`);
  };

  say(
    'ranked in the position',
    graded.rank ? 'met' : 'not met',
    graded.rank ? 'ranked' : `not ranked${graded.unrankedReason ? `: ${graded.unrankedReason}` : ''}`,
  );
  least('games', graded.games, rules.minimumGames, (n) => counted(n, 'game'));
  least('years of service', facts.yearsOfService, rules.minimumYears, (n) => counted(n, 'year'));
  if (rules.fitness) say('fitness test', ...fitnessOf(official, playedOn));
  least('rules test', facts.rulesTestScore, rules.rulesTest, (n) => `${n} percent`);
  if (rules.standing) {
    const because = facts.standingReason === '' ? '' : `: ${facts.standingReason}`;
    if (facts.goodStanding === null) say('standing', 'not known', 'standing not known');
    else if (facts.goodStanding) say('standing', 'met', 'in good standing');
    else say('standing', 'not met', `not in good standing${because}`);
  }
  if (rules.availability) say('availability', ...availabilityOf(official, playedOn));
  const lately = gamesLately(official);
  if (rules.mostLately !== null) {
    const most = `at most ${rules.mostLately} lately`;
    if (lately === null) say('postseason games lately', 'not known', `not known; ${most}`);
    else
      say(
        'postseason games lately',
        lately <= rules.mostLately ? 'met' : 'not met',
        `${counted(lately, 'postseason game')} in the last three seasons, ${most}`,
      );
  }
  return findings;
}

function fitnessOf({ facts }: OfficialToSelect, playedOn: string | null): [Holds, string] {
  const { fitnessPassed: passed, fitnessUntil: until } = facts;
  if (passed === null) return ['not known', 'fitness test not known'];
  if (!passed) return ['not met', 'fitness test not passed'];
  if (until === null) return ['met', 'fitness test passed'];
  if (playedOn === null || until >= playedOn)
    return ['met', `fitness test counts until ${dayInWords(until)}`];
  return [
    'not met',
    `fitness test counted until ${dayInWords(until)}, the game is on ${dayInWords(playedOn)}`,
  ];
}

function availabilityOf({ active, facts }: OfficialToSelect, playedOn: string | null): [Holds, string] {
  if (!active) return ['not met', 'no longer with the conference'];
  if (playedOn !== null && facts.daysAway.includes(playedOn))
    return ['not met', `away on ${dayInWords(playedOn)}`];
  if (facts.available === null) return ['not known', 'availability not known'];
  return facts.available ? ['met', 'available'] : ['not met', 'not available after the season'];
}

const counted = (n: number, what: string) => `${n} ${what}${n === 1 ? '' : 's'}`;
