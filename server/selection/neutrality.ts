import { dayAfter, dayInWords } from '../text/days.ts';
import type { GameToFill, OfficialToSelect } from './candidate.ts';
import type { Finding, Holds, SelectionRuleName } from './finding.ts';
import type { SelectionRules } from './rules.ts';

/**
 * How an official stands to the teams of a game, and whether they are free that day. Of a team that the conference knows
 * nothing of, nothing can be known: that is said and leaves nobody out, since nobody could be proposed at all.
 */
export function neutrality(official: OfficialToSelect, game: GameToFill, rules: SelectionRules): Finding[] {
  const findings: Finding[] = [];
  const own = game.teams.flatMap(({ id, name }) => (id === null ? [] : [{ id, name }]));
  const strangers = strangersOf(game);
  const say = (rule: SelectionRuleName, against: readonly string[], met: string) => {
    let holds: Holds = 'met';
    let why = met;
    if (against.length > 0) [holds, why] = ['not met', against.join('; ')];
    else if (strangers !== null) [holds, why] = ['not known', strangers];
    findings.push({ rule, holds, why, leavesOut: holds === 'not met' });
  };
  if (rules.ties)
    say(
      'declared tie',
      own.filter(({ id }) => official.ties.includes(id)).map(({ name }) => `declared a tie with ${name}`),
      'no tie declared',
    );
  if (rules.recentWeeks !== null) {
    const weeks = rules.recentWeeks;
    const since = dayAfter(game.playedOn, -7 * weeks);
    say(
      'recent game',
      own.flatMap(({ id, name }) => {
        const last = official.workedTeam.get(id);
        const recent = last !== undefined && last >= since && last <= game.playedOn;
        return recent
          ? [`worked a game of ${name} on ${dayInWords(last)}, within ${counted(weeks, 'week')} before`]
          : [];
      }),
      `no game of either team since ${dayInWords(since)}`,
    );
  }
  if (rules.openInquiries)
    say(
      'open inquiry',
      own
        .filter(({ id }) => official.openInquiryOf.includes(id))
        .map(({ name }) => `${name} has an open inquiry about a game they worked`),
      'no open inquiry',
    );
  if (official.daysElsewhere.includes(game.playedOn))
    findings.push({
      rule: 'one game a day',
      holds: 'not met',
      why: `chosen for a game of another selection on ${dayInWords(game.playedOn)}`,
      leavesOut: true,
    });
  return findings;
}

/** Why nothing can be known of a team of the game; null where both are the conference's. */
function strangersOf({ teams }: GameToFill): string | null {
  const strangers = teams.filter(({ id }) => id === null);
  const named = strangers.flatMap(({ name }) => (name ? [name] : []));
  const parts = [
    ...(named.length > 0 ? [`not known of ${named.join(' and ')}, no team of the conference`] : []),
    ...(named.length < strangers.length
      ? [
          strangers.length === 2 && named.length === 0
            ? 'the teams are not known yet'
            : 'a team is not known yet',
        ]
      : []),
  ];
  return parts.length > 0 ? parts.join('; ') : null;
}

const counted = (n: number, what: string) => `${n} ${what}${n === 1 ? '' : 's'}`;
