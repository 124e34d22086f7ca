import { describe, expect, test } from 'vitest';
import { coordinatorWaits } from '../../server/desk/coordinator-desk.ts';
import type { LookFacts, PlaceFact, ReportFact, WaitingFacts } from '../../server/desk/coordinator-facts.ts';
import { countByKind, type Entry } from '../../server/desk/entry.ts';
import { whatIsNext } from '../../server/desk/what-is-next.ts';
import { worthALook } from '../../server/desk/worth-a-look.ts';

const now = new Date('2031-09-08T15:00:00Z');
const days = (count: number) => new Date(now.getTime() + count * 24 * 3600_000);
const game = { gameId: 'g1', game: 'Herons at Badgers', week: 2, kickoff: days(-2) };

const none: WaitingFacts = {
  seasonId: 's1',
  weeks: [
    { number: 1, firstDay: '2031-08-25', lastDay: '2031-09-07' },
    { number: 2, firstDay: '2031-09-08', lastDay: '2031-09-14' },
    { number: 3, firstDay: '2031-09-15', lastDay: '2031-09-21' },
  ],
  gameDays: [],
  today: '2031-09-08',
  reportDays: 3,
  reports: [],
  unreported: [],
  places: [],
  crews: [],
  replies: [],
  inquiries: [],
  offers: [],
  mail: [],
  addresses: [],
  webhooks: [],
};
const nothing: LookFacts = { seasonId: 's1', leastShare: 0.8, logs: [], letters: [], points: [] };

const report = (state: ReportFact['state'], more: Partial<ReportFact> = {}): ReportFact => ({
  ...game,
  id: 'r1',
  state,
  observer: 'Olga Watch',
  observerId: 'o1',
  remindedAt: null,
  filedAt: days(-1),
  acceptedAt: null,
  returnedAt: null,
  ...more,
});
const place = (more: Partial<PlaceFact> = {}): PlaceFact => ({
  ...game,
  kickoff: days(5),
  wanted: 1,
  standing: 0,
  filmAllowed: true,
  declined: [],
  ...more,
});
const waits = (facts: Partial<WaitingFacts>) => coordinatorWaits({ ...none, ...facts }, now);
const kindsOf = (entries: readonly Entry[]) => entries.map(({ kind }) => kind);

describe('reports', () => {
  test.each([
    ['filed', 'review', days(-1)],
    ['accepted', 'release', days(-0.5)],
    ['returned', 'returned', days(-0.25)],
  ] as const)('one that is %s waits since it became so', (state, kind, since) => {
    const [entry, ...more] = waits({
      reports: [report(state, { acceptedAt: days(-0.5), returnedAt: days(-0.25) })],
    });
    expect(more).toEqual([]);
    expect(entry).toMatchObject({ kind, since, title: 'Week 2: Herons at Badgers', href: '/reports/r1' });
  });

  test('a draft, or none at all, is overdue from the third day after kickoff on, and waits since then', () => {
    for (const late of [
      { reports: [report('draft', { kickoff: days(-3) })] },
      { unreported: [{ ...report('draft'), kickoff: days(-3) }] },
    ]) {
      expect(waits(late)).toMatchObject([{ kind: 'overdue', since: now }]);
    }
    const inTime = new Date(days(-3).getTime() + 1);
    expect(waits({ reports: [report('draft', { kickoff: inTime })] })).toEqual([]);
    expect(waits({ unreported: [{ ...report('draft'), kickoff: inTime }] })).toEqual([]);
  });

  test('its observer is reminded by one click, and the desk says since when they were', () => {
    const [entry] = waits({ reports: [report('returned')] });
    expect(entry!.acts[0]).toEqual({
      label: 'Remind Olga Watch',
      post: '/games/g1/remind',
      fields: { observerId: 'o1', next: '/desk' },
    });
    expect(entry!.says).toBe('Returned to Olga Watch, not filed again.');
    const reminded = waits({ unreported: [{ ...report('draft'), kickoff: days(-4), remindedAt: days(-1) }] });
    expect(reminded[0]!.says).toBe('Olga Watch: no report begun. Reminded 1 day ago.');
  });
});

describe('places', () => {
  test('one of this week is open; of another week only once somebody declined', () => {
    expect(waits({ places: [place()] })).toMatchObject([
      { kind: 'place', says: 'One observer is wanted.', before: days(5) },
    ]);
    const later = place({ week: 3, kickoff: days(12) });
    expect(waits({ places: [later] })).toEqual([]);
    expect(waits({ places: [place({ kickoff: days(7) })] })).toHaveLength(1);
    expect(waits({ places: [place({ kickoff: new Date(days(7).getTime() + 1) })] })).toEqual([]);
    const declined = [
      { observer: 'Olga Watch', reason: 'a wedding', at: days(-1) },
      { observer: 'Pat Seer', reason: '', at: days(-2) },
    ];
    expect(waits({ places: [{ ...later, wanted: 2, declined }] })).toMatchObject([
      {
        kind: 'declined',
        since: days(-2),
        says: 'Olga Watch declined (a wedding), Pat Seer declined. 2 observers are wanted.',
        href: '/observers/games/g1/place',
      },
    ]);
  });

  test('one is no longer open when it is filled, or played and not to be watched on film', () => {
    expect(waits({ places: [place({ standing: 1 })] })).toEqual([]);
    const played = place({ kickoff: days(-0.1) });
    expect(waits({ places: [{ ...played, filmAllowed: false }] })).toEqual([]);
    expect(waits({ places: [played] })[0]!.says).toBe('One observer is wanted, to watch it on film.');
  });
});

test('crews, replies and mail wait as they are read; all is oldest first', () => {
  const entries = waits({
    reports: [report('filed')],
    crews: [game],
    replies: [
      { id: 'y1', official: 'Sam Reed', game: game.game, week: 2, play: 12, at: days(-0.5) },
      { id: 'y2', official: 'Sam Reed', game: game.game, week: 2, play: 3, at: days(-6) },
    ],
    mail: [
      { kind: 'invitation', count: 2, name: 'Ann Early', since: days(-3), error: 'no such mailbox' },
      { kind: 'letter', count: 1, name: 'Sam Reed', since: days(-4), error: '' },
    ],
    addresses: [
      { personId: 'p1', name: 'Pat Seer', email: 'pat@example.test', since: days(-5), error: 'refused' },
    ],
  });
  expect(kindsOf(entries)).toEqual(['ruling', 'mail', 'mail', 'mail', 'crew', 'review', 'ruling']);
  expect(entries[0]).toMatchObject({ href: '/replies/y2', says: 'Sam Reed answered a mark on play 3.' });
  expect(entries[1]).toMatchObject({
    href: '/people/p1',
    says: 'Mail to pat@example.test does not arrive: refused.',
  });
  expect(entries[2]!.says).toBe('A letter to Sam Reed could not be sent.');
  expect(entries[3]!.says).toBe('2 invitations could not be sent, because no such mailbox.');
  expect(countByKind(entries)).toEqual([
    { kind: 'review', count: 1 },
    { kind: 'ruling', count: 2 },
    { kind: 'crew', count: 1 },
    { kind: 'mail', count: 3 },
  ]);
});

test('an offer after the season waits from the end of its last day, a free place from when it became free', () => {
  const offer = {
    ...{ selectionId: 's9', gameId: 'f1', game: 'The final', slot: 'umpire', official: 'Sam Reed' },
    ...{ answer: null, at: days(-1), chosen: null },
  };
  const entries = waits({
    offers: [
      offer,
      { ...offer, slot: 'referee', answer: 'declined', at: days(-2) },
      { ...offer, slot: 'line judge', answer: 'withdrawn', at: days(-3), chosen: 'Ann Early' },
    ],
  });
  expect(entries.map(({ kind, title, since }) => [kind, title, since])).toEqual([
    ['free place', 'The final: line judge', days(-3)],
    ['free place', 'The final: referee', days(-2)],
    ['offer', 'The final: umpire', days(-1)],
  ]);
  expect(new Set(entries.map(({ href }) => href))).toEqual(new Set(['/postseason/s9/offers#game-f1']));
  expect(entries.map(({ acts }) => acts[0]!.label)).toEqual([
    ...['Offer it', 'Fill the place', 'Look at the offers'],
  ]);
});

test('a webhook waits when it said that it is gone, and when events were given up', () => {
  const address = 'https://www.example.test/hooks/officiating?key=a';
  const entries = waits({
    webhooks: [
      { id: 'w1', address, goneAt: days(-1), givenUp: 3, since: days(-4), error: 'It answered 500' },
      { id: 'w2', address, goneAt: null, givenUp: 1, since: days(-2), error: 'Nobody listens there' },
      { id: 'w3', address, goneAt: null, givenUp: 2, since: days(-3), error: '' },
    ],
  });
  expect(entries.map(({ title, href, says }) => [title, href, says])).toEqual([
    ['Webhook to www.example.test', '/settings/webhooks/w3', '2 events were not taken for three days.'],
    [
      ...['Webhook to www.example.test', '/settings/webhooks/w2'],
      'An event was not taken for three days. Nobody listens there.',
    ],
    [
      ...['Webhook to www.example.test', '/settings/webhooks/w1'],
      'It answered 410, gone, and is paused: what happens waits for it.',
    ],
  ]);
  expect(countByKind(entries)).toEqual([{ kind: 'webhook', count: 3 }]);
});

describe('worth a look', () => {
  const log = {
    ...game,
    id: 'r1',
    filedAt: days(-1),
    kept: { opportunities: 60, setAside: 12, unwatched: 24, likely: 18 },
    leftOut: 1,
  };

  test('a log that gives less than the conference asks for', () => {
    // (60 + 12) of (60 + 12 + 18) is 0.8; 72 of 96 were watched.
    expect(worthALook({ ...nothing, logs: [log] })).toEqual([]);
    expect(worthALook({ ...nothing, leastShare: 0.81, logs: [log] })).toMatchObject([
      {
        kind: 'thin log',
        says: 'The log gives 80 % of the chances; 75 % of them were watched. 1 duty is left out of the report.',
      },
    ]);
  });

  test('a point: until the official is told, and again after two games', () => {
    const point = {
      id: 'd1',
      official: 'Sam Reed',
      duty: 'The spot',
      guidance: 'Mark it off.',
      openedAt: days(-9),
      told: false,
    };
    const look = (more: object) =>
      worthALook({ ...nothing, points: [{ ...point, gamesSince: [], ...more }] });
    expect(look({})).toMatchObject([{ kind: 'point', since: days(-9), guidance: 'Mark it off.' }]);
    expect(look({ told: true })).toEqual([]);
    expect(look({ told: true, gamesSince: [days(-7)] })).toEqual([]);
    expect(look({ told: true, gamesSince: [days(-7), days(-4), days(-1)] })).toMatchObject([
      { since: days(-4), says: '3 games since it was last looked at: has it changed?' },
    ]);
  });

  test('letters, by kind and reason', () => {
    const letters = (because: 'template' | 'figures' | 'ruling', count = 3) =>
      worthALook({
        ...nothing,
        letters: [{ kind: 'mid-season', because, count, official: 'Sam Reed', since: days(-1) }],
      })[0]!.says;
    expect(letters('template')).toBe('3 letters were made with an older template.');
    expect(letters('figures')).toBe('3 letters were made before the figures changed.');
    expect(letters('ruling', 1)).toBe('The letter of Sam Reed was overtaken by a ruling since the release.');
  });
});

test('a desk on which nothing waits says what comes next', () => {
  const ahead = { seasonId: 's1', closed: false, games: 4, coming: null };
  expect(whatIsNext({ ...ahead, games: 0 }).links[0]!.href).toBe('/seasons/s1/games/add');
  const coming = { week: 3, games: 1, kickoff: days(7), timeZone: 'America/Chicago' };
  expect(whatIsNext({ ...ahead, coming })).toMatchObject({
    says: 'Week 3 comes next, with 1 game. The first kickoff:',
    kickoff: days(7),
    links: [{ href: '/observers/weeks/3' }, { href: '/seasons/s1?week=3' }],
  });
  expect(whatIsNext(ahead).says).toContain('All games of the season are played');
  expect(whatIsNext({ ...ahead, closed: true, coming }).says).toContain('is closed');
});
