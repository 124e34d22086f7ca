import { describe, expect, test } from 'vitest';
import { compileRubric, fullCrew } from '../../server/duties/compiled-rubric.ts';
import { decidingQuestion } from '../../server/duties/deciding-question.ts';
import { forEachChance } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { whyNotOwed } from '../../server/duties/why-not-owed.ts';
import { type Play, playSchema } from '../../server/football/play.ts';
import type { Position } from '../../server/football/positions.ts';
import { sampleValues } from '../../server/football/sample-values.ts';
import { plainPlay } from '../reports/one-game.ts';

const rubric = compileRubric(startingRubric);
const crew = fullCrew(8);
const plays: Play[] = [
  { kind: 'run', spot: 40 },
  { kind: 'free kick', spot: 35 },
  { kind: 'punt', spot: 30, down: 4, distance: 8 },
  { kind: 'try', spot: 97 },
  plainPlay(1),
  plainPlay(2),
];

/** Each duty and official of a play, and whether it is owed. */
function chancesOn(play: Play) {
  const found: { position: Position; dutyKey: string; owed: true | 'unknown' }[] = [];
  forEachChance(play, crew, rubric, (position, { key: dutyKey }, _named, _number, owed) => {
    found.push({ position, dutyKey, owed });
  });
  return found;
}

describe('the fact that decides', () => {
  test('is asked of every undecided duty, of no other, and ends in a decision', {
    tags: ['long'],
  }, () => {
    for (const play of plays) {
      // Every sixth: all of them take half a minute.
      for (const { position, dutyKey, owed } of chancesOn(play).filter((_, at) => at % 6 === 0)) {
        const of = { position, dutyKey };
        let question = decidingQuestion(play, crew, rubric, of);
        expect(question === undefined, `${dutyKey} of the ${position}`).toBe(owed === true);
        let logged = play;
        for (let asked = 0; question; asked++) {
          expect(asked, `${dutyKey} of the ${position}`).toBeLessThan(9);
          expect(logged[question.fact] === undefined || question.fact === 'fouls').toBe(true);
          // Any answer will do, as long as it takes the question further; the usual one where there is one.
          const { fact, owedIf } = question;
          const answers: readonly unknown[] = sampleValues[fact];
          const answer = answers.find((value) => owedIf(value) !== 'unknown') ?? answers[0];
          logged = playSchema.parse({ ...logged, [fact]: answer });
          const told = owedIf(answer);
          question = decidingQuestion(logged, crew, rubric, of);
          expect(question === undefined).toBe(told !== 'unknown');
        }
      }
    }
  });

  test('asks whether it came up before it asks whose it was', () => {
    const of = { position: 'umpire', dutyKey: 'call-fumble-or-down' } as const;
    const question = decidingQuestion(plainPlay(1), crew, rubric, of)!;
    expect(question.fact).toBe('fumbleOrDown');
    expect(question.owedIf(false)).toBe(false);
  });
});

describe('why a duty was not owed', () => {
  const say = (play: Play, position: Position, dutyKey: string) =>
    whyNotOwed(play, crew, rubric, { position, dutyKey });
  const keyOf = (title: string) => startingRubric.find((duty) => duty.title === title)!.key;

  test('is said of every duty that the facts rule out, and of no other', () => {
    for (const play of plays) {
      const chances = chancesOn(play);
      for (const { key: dutyKey, per } of startingRubric) {
        for (const position of crew.present) {
          const chance = chances.some((one) => one.position === position && one.dutyKey === dutyKey);
          const why = say(play, position, dutyKey);
          expect(why === undefined, `${dutyKey} of the ${position}: ${why?.why}`).toBe(
            chance || per === 'game',
          );
          if (why) expect(why.why).toMatch(/^[A-Z].*\.$/);
        }
      }
    }
  });

  test('names the facts that say so', () => {
    const run = plainPlay(2);
    expect(say(run, 'line judge', keyOf('Hold at the line of scrimmage'))).toEqual({
      why: expect.stringMatching(/kind of play run/),
      facts: ['kind'],
    });
  });

  test('says so where the crew has it done by others', () => {
    const why = say(plainPlay(1), 'back judge', keyOf('Hold at the line of scrimmage'));
    expect(why).toEqual({ why: 'In a crew of 8 it is no duty of the back judge.', facts: [] });
  });
});
