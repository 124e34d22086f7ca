import type { Spread } from '../../training/balance.ts';
import { capital } from '../../web/format.ts';
import type { MeasuredProgram } from '../meters.ts';
import type { Program } from '../program.ts';
import { nameOf, type ProgramNames } from '../stores/program-names.ts';

/** How fair a program is, in words and with what is to be done about it. */
export function metersView({ balance, openings }: MeasuredProgram, program: Program, names: ProgramNames) {
  const { good, bad, secondsUsed, secondsPlanned } = balance;
  const left = secondsPlanned - secondsUsed;
  return {
    any: good + bad > 0,
    good,
    bad,
    short: Math.max(0, bad - good),
    used: secondsUsed,
    planned: secondsPlanned,
    over: Math.max(0, -left),
    left: Math.max(0, left),
    spreads: [
      spreadView('crews', balance.crews, (id) => names.crews.get(id) ?? 'a crew'),
      spreadView('positions', balance.positions, capital),
      spreadView('weeks', balance.weeks, (week) => `week ${week}`),
      spreadView('teams', balance.teams, (id) => names.teams.get(id) ?? 'a team'),
    ].filter(({ of }) => of > 0),
    warnings: [
      ...balance.tooOftenBad.map(
        (one) =>
          `${nameOf(names, one.officialId)} is in ${one.bad} bad plays; ${program.mostBad} at most. Take one out.`,
      ),
      ...balance.onlyBad.map(
        (id) =>
          `${nameOf(names, id)} is shown in bad plays only. Put in a good one of theirs, or take it out.`,
      ),
      ...balance.crewsOverThird.map(
        (one) =>
          `The crew ${names.crews.get(one.crewId) ?? ''} has ${one.bad} of the ${bad} bad plays, more than a third. Take one from another crew instead.`,
      ),
      ...openings
        .filter(({ together }) => !together)
        .map(({ topic }) => `The plays of “${topic || 'no topic'}” do not stand together.`),
      ...openings
        .filter(({ opensGood, closesGood }) => !opensGood || !closesGood)
        .map(
          ({ topic, opensGood, closesGood }) =>
            `“${topic || 'No topic'}” ${opensGood ? 'does not close' : closesGood ? 'does not open' : 'neither opens nor closes'} with a good play.`,
        ),
    ],
  };
}

function spreadView(what: string, { counts, uneven }: Spread, name: (of: string) => string) {
  const [most] = counts;
  return {
    what,
    uneven,
    isUneven: uneven > 0.2,
    most: most ? `${name(most.of)} ${most.plays}` : '',
    of: counts.length,
  };
}
