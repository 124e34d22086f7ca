import { describe, expect, test } from 'vitest';
import { ageInWords, timeLeftInWords } from '../../server/desk/age.ts';
import { type AssignmentFact, observerCounts, observerDesk } from '../../server/desk/observer-desk.ts';
import { type EvaluationFact, type OfficialFacts, officialDesk } from '../../server/desk/official-desk.ts';

const now = new Date('2031-09-08T15:00:00Z');
const days = (count: number) => new Date(now.getTime() + count * 24 * 3600_000);

test('ages and time left are whole units, rounded down', () => {
  const ago = (seconds: number) => ageInWords(new Date(now.getTime() - seconds * 1000), now);
  expect([0, 59, 60, 3599, 3600, 86_399, 86_400, 172_799].map(ago)).toEqual([
    'just now',
    'just now',
    '1 minute',
    '59 minutes',
    '1 hour',
    '23 hours',
    '1 day',
    '1 day',
  ]);
  const left = (seconds: number) => timeLeftInWords(new Date(now.getTime() + seconds * 1000), now);
  expect([-1, 0, 3599, 7200, 172_800].map(left)).toEqual([
    'over',
    'within the hour',
    'within the hour',
    'in 2 hours',
    'in 2 days',
  ]);
});

describe('the desk of an observer', () => {
  const one = (id: string, more: Partial<AssignmentFact>): AssignmentFact => ({
    id,
    gameId: `g-${id}`,
    game: 'Herons at Badgers',
    week: 2,
    kickoff: days(2),
    timeZone: 'America/Chicago',
    venue: 'Mill Field',
    how: 'film',
    miles: null,
    answer: 'accepted',
    offeredAt: days(-9),
    reportId: null,
    state: null,
    returnedReason: null,
    returnedAt: null,
    ...more,
  });

  test('puts each assignment where it belongs, once', () => {
    const desk = observerDesk(
      {
        assignments: [
          one('next', {}),
          one('sooner', { kickoff: days(1) }),
          one('offer', { answer: 'offered' }),
          one('asked first', { answer: 'offered', offeredAt: days(-10) }),
          one('too late', { answer: 'offered', kickoff: days(-1), how: 'in person' }),
          one('film of it', { answer: 'offered', kickoff: days(-1), offeredAt: days(-1) }),
          one('played', { kickoff: days(-1) }),
          one('begun', { state: 'draft', kickoff: days(-1) }),
          one('back', { state: 'returned', returnedAt: days(-1) }),
          one('filed', { state: 'filed' }),
          one('accepted', { state: 'accepted' }),
          one('released', { state: 'released' }),
          one('declined', { answer: 'declined' }),
        ],
        reportDays: 3,
        availability: null,
      },
      now,
    );
    const ids = Object.fromEntries(
      Object.entries(desk).map(([list, all]) => [
        list,
        Array.isArray(all) ? all.map(({ id }: AssignmentFact) => id) : all,
      ]),
    );
    expect(ids).toEqual({
      offers: ['asked first', 'offer', 'film of it'],
      returned: ['back'],
      begun: ['begun'],
      toBegin: ['played'],
      next: ['sooner', 'next'],
      withCoordinator: 2,
      reportDays: 3,
      availability: null,
    });
    expect(observerCounts(desk)).toEqual({ games: 3, assignments: 3, away: 0 });
  });
});

describe('the desk of an official', () => {
  const evaluation = (more: Partial<EvaluationFact>): EvaluationFact => ({
    reportId: 'r1',
    gameId: 'g1',
    game: 'Herons at Badgers',
    week: 2,
    releasedAt: days(-1),
    answerUntil: days(9),
    marks: 3,
    unanswered: 2,
    ...more,
  });
  const none: OfficialFacts = {
    evaluations: [],
    letters: [],
    answers: [],
    points: [],
    offers: [],
    availability: null,
  };

  test('says what came in the last fourteen days, latest first; else what came last', () => {
    const facts: OfficialFacts = {
      ...none,
      evaluations: [
        evaluation({}),
        evaluation({ reportId: 'r0', gameId: 'g0', week: 1, releasedAt: days(-14), marks: 0, unanswered: 0 }),
      ],
      letters: [{ id: 'l1', title: 'Mid-season evaluation', releasedAt: days(-3) }],
      answers: [
        {
          replyId: 'y1',
          game: 'Herons at Badgers',
          week: 1,
          play: 7,
          duty: 'The spot',
          repliedAt: days(-5),
          ruling: 'withdrawn',
          ruledAt: days(-2),
        },
      ],
    };
    const titles = (at: Date) => {
      const { news, before } = officialDesk(facts, at);
      return { news: news.map(({ title }) => title), before: before.map(({ says }) => says) };
    };
    expect(titles(now)).toEqual({
      news: ['Week 2: Herons at Badgers', 'Ruling on your answer: The spot', 'Mid-season evaluation'],
      before: [],
    });
    expect(titles(days(40))).toEqual({
      news: [],
      before: [
        'Your evaluation is released, with 3 marks.',
        'The mark is withdrawn. Week 1, Herons at Badgers, play 7.',
        'Your letter is there to read.',
      ],
    });
  });

  test('two observers of a game are one game', () => {
    const both = [evaluation({}), evaluation({ reportId: 'r2', releasedAt: days(-2), answerUntil: days(4) })];
    const { news, toAnswer } = officialDesk({ ...none, evaluations: both }, now);
    expect(news.map(({ says }) => says)).toEqual([
      'Your evaluation is released, by 2 observers, with 6 marks.',
    ]);
    expect(toAnswer).toMatchObject([{ unanswered: 4, observers: 2, answerUntil: days(4) }]);
  });

  test('what can be answered ends with its time, and with the last answer', () => {
    const open = (more: Partial<EvaluationFact>) =>
      officialDesk({ ...none, evaluations: [evaluation(more)] }, now).toAnswer.length;
    expect(open({ answerUntil: now })).toBe(1);
    expect(open({ answerUntil: new Date(now.getTime() - 1) })).toBe(0);
    expect(open({ unanswered: 0 })).toBe(0);
    expect(open({ answerUntil: null })).toBe(1);
    const two = [
      evaluation({ gameId: 'g1', answerUntil: days(3) }),
      evaluation({ gameId: 'g2', answerUntil: days(1), week: 1 }),
    ];
    expect(officialDesk({ ...none, evaluations: two }, now).toAnswer.map(({ week }) => week)).toEqual([1, 2]);
  });
});
