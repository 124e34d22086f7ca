import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { countingSitting } from '../../server/knowledge/counting.ts';
import { firstDraw, redraw } from '../../server/quizzes/rules/draw.ts';
import { instantOf, localOf } from '../../server/quizzes/rules/local-time.ts';
import { answersShownFrom, endOfSitting, mayBegin } from '../../server/quizzes/rules/sitting.ts';

const pool = (size: number) =>
  Array.from({ length: size }, (_, at) => ({ id: `q${at}`, asked: 20, right: (at * 7) % 21 }));
const ids = (list: readonly { id: string }[]) => list.map(({ id }) => id);
const first = () => 0;

describe('what is drawn', () => {
  test('all, in their order, where nothing is drawn', () => {
    expect(ids(firstDraw(pool(4), null, first))).toEqual(['q0', 'q1', 'q2', 'q3']);
  });
  test('a retake asks nothing twice while others are left, and as much again as is needed beyond', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 12 }),
        fc.integer({ min: 0, max: 20 }),
        fc.infiniteStream(fc.nat()),
        (draws, more, stream) => {
          const choose = (count: number) => stream.next().value! % count;
          const bank = pool(draws + more);
          const sittings = [ids(firstDraw(bank, draws, choose))];
          for (let retake = 0; retake < 3; retake += 1) {
            const before = new Set(sittings.flat());
            const { questions, repeated } = redraw(bank, draws, sittings, choose);
            expect(new Set(ids(questions)).size).toBe(draws);
            expect(repeated).toBe(Math.max(0, draws - (bank.length - before.size)));
            expect(ids(questions).filter((id) => before.has(id))).toHaveLength(repeated);
            sittings.push(ids(questions));
          }
        },
      ),
    );
  });
  test('a retake is about as hard: its ease is no farther from the first than a blind draw’s', () => {
    const bank = pool(40);
    const ease = (list: readonly { right: number }[]) =>
      list.reduce((sum, { right }) => sum + right, 0) / list.length;
    let [matched, blind] = [0, 0];
    let state = 11;
    const choose = (count: number) => {
      state = (state * 16_807) % 2_147_483_647;
      return state % count;
    };
    for (let trial = 0; trial < 200; trial += 1) {
      const one = firstDraw(bank, 10, choose);
      const rest = bank.filter(({ id }) => !ids(one).includes(id));
      matched += Math.abs(ease(redraw(bank, 10, [ids(one)], choose).questions) - ease(one));
      blind += Math.abs(ease(firstDraw(rest, 10, choose)) - ease(one));
    }
    expect(matched).toBeLessThan(0.35 * blind);
  });
});

describe('time', () => {
  const rules = {
    opensAt: new Date('2031-08-04T08:00:00Z'),
    closesAt: new Date('2031-08-04T20:00:00Z'),
    minutes: 30,
    starts: 2,
    hoursBetween: 2,
    closedSeason: false,
  };
  const none = { extraMinutes: 0, extraStarts: 0, openUntil: null };
  const at = (time: string) => new Date(`2031-08-04T${time}Z`);
  const sat = { number: 1, begunAt: at('10:00:00'), endedAt: at('10:30:00') };

  test('a sitting ends with its minutes or with the window; minutes given to one go beyond', () => {
    expect(endOfSitting(rules, none, at('10:00:00'))).toEqual(at('10:30:00'));
    expect(endOfSitting(rules, none, at('19:45:00'))).toEqual(at('20:00:00'));
    expect(endOfSitting(rules, { ...none, extraMinutes: 15 }, at('19:45:00'))).toEqual(at('20:15:00'));
  });
  test('who may begin, to the second', () => {
    expect(mayBegin(rules, none, [], at('07:59:59'))).toMatchObject({ because: 'not yet' });
    expect(mayBegin(rules, none, [], at('08:00:00'))).toEqual({ may: true, number: 1, minutes: 30 });
    expect(mayBegin(rules, none, [], at('19:50:00'))).toEqual({ may: true, number: 1, minutes: 10 });
    expect(mayBegin(rules, none, [], at('20:00:00'))).toMatchObject({ because: 'over' });
    expect(mayBegin(rules, none, [{ ...sat, endedAt: null }], at('10:10:00'))).toMatchObject({
      because: 'sitting',
    });
    expect(mayBegin(rules, none, [sat], at('12:29:59'))).toEqual({
      may: false,
      because: 'wait',
      until: at('12:30:00'),
    });
    expect(mayBegin(rules, none, [sat], at('12:30:00'))).toMatchObject({ may: true, number: 2 });
    expect(mayBegin(rules, none, [sat, { ...sat, number: 2 }], at('13:00:00'))).toMatchObject({
      because: 'used up',
    });
    expect(
      mayBegin(rules, { ...none, extraStarts: 1 }, [sat, { ...sat, number: 2 }], at('13:00:00')).may,
    ).toBe(true);
    expect(mayBegin(rules, { ...none, openUntil: at('22:00:00') }, [], at('21:00:00')).may).toBe(true);
    const closed = { ...rules, closedSeason: true };
    expect(mayBegin(closed, none, [], at('09:00:00'))).toEqual({ may: false, because: 'season closed' });
  });
  test('answers are shown once nobody can sit any more: when the window closes, or later by what somebody was given', () => {
    const told = (more: object = {}) => ({ ...none, ended: 0, begunAt: null, ...more });
    expect(answersShownFrom(rules, [])).toEqual(at('20:00:00'));
    // Who has no start left waits for the others.
    expect(answersShownFrom(rules, [told({ ended: 2 }), told()])).toEqual(at('20:00:00'));
    const later = { openUntil: at('22:00:00') };
    expect(answersShownFrom(rules, [told(later), told({ ended: 2 })])).toEqual(at('22:00:00'));
    expect(answersShownFrom(rules, [told({ ...later, ended: 2 })])).toEqual(at('20:00:00'));
    expect(answersShownFrom(rules, [told({ ...later, ended: 2, extraStarts: 1 })])).toEqual(at('22:00:00'));
    // Minutes given go beyond the window, begun at its last moment or a while before.
    expect(answersShownFrom(rules, [told({ extraMinutes: 15 })])).toEqual(at('20:15:00'));
    const sitting = told({ ...later, ended: 1, begunAt: at('20:30:00') });
    expect(answersShownFrom(rules, [sitting])).toEqual(at('21:00:00'));
    expect(answersShownFrom({ ...rules, closedSeason: true }, [told(later)])).toEqual(at('20:00:00'));
  });
});

test('which sitting counts', () => {
  const sittings = [
    { number: 2, asked: 10, right: 8 },
    { number: 1, asked: 10, right: 7 },
    { number: 3, asked: 10, right: 8 },
  ];
  expect(countingSitting(sittings, 'best')!.number).toBe(2);
  expect(countingSitting(sittings, 'last')!.number).toBe(3);
  expect(countingSitting(sittings, 'first')!.number).toBe(1);
  expect(countingSitting([], 'best')).toBeNull();
});

test('a time of day in a zone: in summer, in winter, and where the clock jumps', () => {
  // The tz database: America/Chicago left standard time at 2:00 on 2026-03-08 and came back at 2:00 on 2026-11-01.
  const zone = 'America/Chicago';
  expect(instantOf('2026-08-03T08:00', zone)).toBe('2026-08-03T13:00:00.000Z');
  expect(instantOf('2026-12-03T08:00', zone)).toBe('2026-12-03T14:00:00.000Z');
  expect(instantOf('2026-11-01T01:30', zone)).toBe('2026-11-01T06:30:00.000Z');
  expect(instantOf('2026-03-08T02:30', zone)).toBe('2026-03-08T08:30:00.000Z');
  expect(instantOf('soon', zone)).toBe('soon');
  expect(localOf(new Date('2026-08-03T13:00:00Z'), zone)).toBe('2026-08-03T08:00');
});
