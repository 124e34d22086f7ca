// @module-tag long
import { describe, expect, it } from 'vitest';
import {
  type CompiledRubric,
  compileRubric,
  forEachGameOpportunity,
  fullCrew,
} from '../../../server/duties/opportunities.ts';
import { startingRubricFor } from '../../../server/duties/starting-rubric.ts';
import { reasonInWords, whoOwedWhat } from '../../../server/duties/who-owed-what.ts';
import type { Code } from '../../../server/football/codes.ts';
import { positionsOf } from '../../../server/football/crews.ts';
import { playSchema } from '../../../server/football/play.ts';
import { practicesSchema } from '../../../server/football/practices.ts';
import type { PlayOfTheTable, Row } from '../../support/table-of-plays.ts';
import { beforeTheSnap } from './who-owes-what/before-the-snap.ts';
import { clock } from './who-owes-what/clock.ts';
import { endingThePlay } from './who-owes-what/ending-the-play.ts';
import { foulsAndAdministration } from './who-owes-what/fouls-and-administration.ts';
import { goalLine } from './who-owes-what/goal-line.ts';
import { kicks } from './who-owes-what/kicks.ts';
import { looseBall } from './who-owes-what/loose-ball.ts';
import { passes } from './who-owes-what/passes.ts';
import { runsAndBackfield } from './who-owes-what/runs-and-backfield.ts';
import { safetyAndConduct } from './who-owes-what/safety-and-conduct.ts';
import { sidelineAndDeadBall } from './who-owes-what/sideline-and-dead-ball.ts';
import { spotting } from './who-owes-what/spotting.ts';

// Who owes what on constructed plays, as a crew chief would say it: written down before and apart from the program
// that decides. Common practice, no source, unless a rule is named; the conference's current manual prevails.
const table: Readonly<Record<string, readonly PlayOfTheTable[]>> = {
  spotting,
  'ending the play': endingThePlay,
  'the clock': clock,
  'goal line and safety': goalLine,
  passes,
  'runs and backfield': runsAndBackfield,
  'loose ball': looseBall,
  kicks,
  'sideline and dead ball': sidelineAndDeadBall,
  'fouls and administration': foulsAndAdministration,
  'before the snap': beforeTheSnap,
  'safety and conduct': safetyAndConduct,
};

const rubrics = new Map<string, CompiledRubric>();
function rubricOf(code: Code, practices: Row[4]): CompiledRubric {
  const key = JSON.stringify([code, practices]);
  let rubric = rubrics.get(key);
  if (rubric === undefined) {
    rubric = compileRubric(startingRubricFor(code), practicesSchema.parse(practices ?? {}));
    rubrics.set(key, rubric);
  }
  return rubric;
}

/** What the program says of one row: who owes it, or `undecided` (with the open ones), and why. */
function byTheProgram({ play }: PlayOfTheTable, [size, code, duty, , practices]: Row) {
  const { owed, undecided } = whoOwedWhat(play, fullCrew(size), rubricOf(code, practices));
  const owing = owed.filter((one) => one.duty.key === duty);
  const open = undecided.filter((one) => one.duty.key === duty);
  const why = [
    ...owing.map((one) => `${one.position}: ${one.why.map(reasonInWords).join('; ')}`),
    ...open.map(
      (one) =>
        `undecided (${one.positions.join(', ')}), not logged: ${one.missing.map((m) => m.name).join(', ')}`,
    ),
  ];
  return {
    owes: open.length > 0 ? ('undecided' as const) : owing.map((one) => one.position).sort(),
    why: why.length > 0 ? why.join('\n    ') : 'the duty did not arise',
  };
}

describe.each(Object.entries(table))('%s', (_subject, plays) => {
  it.each(
    plays.flatMap((one) =>
      one.rows.map((row) => [one.sentence, `${row[2]}, crew of ${row[0]}, ${row[1]}`, one, row] as const),
    ),
  )('%s: %s', (sentence, what, one, row) => {
    const [, , , owes, practices] = row;
    const byTable = owes === 'undecided' ? owes : [...owes].sort();
    const program = byTheProgram(one, row);
    const words = (answer: readonly string[] | 'undecided') =>
      answer === 'undecided' ? answer : answer.join(', ') || 'nobody';
    const worked = practices === undefined ? '' : ` (where ${JSON.stringify(practices)})`;
    expect(
      program.owes,
      `${sentence}\n  ${what}${worked}\n  by the table: ${words(byTable)}\n  by the program: ${words(program.owes)}\n    ${program.why}\n`,
    ).toEqual(byTable);
  });
});

// What no play can show is marked once a game, for everybody who worked it. Common practice, no source.
describe('over the game', () => {
  const overTheGame = [
    'pre-game',
    'appearance',
    'fitness-and-movement',
    'crew-communication',
    'game-management',
  ];

  it.each([
    [4, 'high school'],
    [5, 'high school'],
    [6, 'college'],
    [7, 'college'],
    [8, 'college'],
  ] as const)('everybody in a crew of %i, %s, owes each game duty once', (size, code) => {
    const owed: string[] = [];
    forEachGameOpportunity(fullCrew(size), rubricOf(code, undefined), (position, duty) => {
      owed.push(`${duty.key}: ${position}`);
    });
    const expected = overTheGame.flatMap((key) => positionsOf(size).map((position) => `${key}: ${position}`));
    expect(owed.sort()).toEqual(expected.sort());
  });
});

describe('the table', () => {
  const plays = Object.values(table).flat();
  const rows = plays.flatMap((one) => one.rows);

  it('asks only of duties that the starting rubric of that code has, or says that nobody owes it', () => {
    const unknown = rows.filter(
      ([, code, duty, owes]) =>
        owes.length > 0 && !startingRubricFor(code).some((known) => known.key === duty),
    );
    expect(unknown).toEqual([]);
    const keys = new Set(
      [...startingRubricFor('college'), ...startingRubricFor('high school')].map(({ key }) => key),
    );
    expect(rows.filter(([, , duty]) => !keys.has(duty)).map(([, , duty]) => duty)).toEqual([]);
  });

  it('has a play for every duty of the starting rubric on which somebody owes it', () => {
    const owed = new Set(rows.filter(([, , , owes]) => owes.length > 0).map(([, , duty]) => duty));
    const duties = [...startingRubricFor('college'), ...startingRubricFor('high school')];
    expect(duties.filter(({ key, per }) => per === 'play' && !owed.has(key)).map(({ key }) => key)).toEqual(
      [],
    );
  });

  it('has plays that could be logged', () => {
    for (const { sentence, play } of plays) {
      expect(playSchema.safeParse(play).error?.issues ?? [], sentence).toEqual([]);
    }
  });

  it('covers every crew size and both codes', () => {
    const count = (size: number, code: Code) => rows.filter(([s, c]) => s === size && c === code).length;
    expect(rows.length).toBeGreaterThanOrEqual(500);
    for (const size of [4, 5, 6, 7, 8]) {
      expect(count(size, 'college') + count(size, 'high school')).toBeGreaterThanOrEqual(15);
    }
    expect(rows.filter(([, code]) => code === 'high school').length).toBeGreaterThanOrEqual(60);
  });
});
