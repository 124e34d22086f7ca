import { describe, expect, test } from 'vitest';
import {
  type GameToFill,
  type GradedIn,
  nothingKnown,
  type OfficialToSelect,
} from '../../server/selection/candidate.ts';
import { eligibility } from '../../server/selection/eligibility.ts';
import { leftOut, overall, type SelectionRuleName } from '../../server/selection/finding.ts';
import { neutrality } from '../../server/selection/neutrality.ts';
import { defaultRules, rulesSchema, type SelectionRules } from '../../server/selection/rules.ts';
import { day } from '../../server/web/format.ts';

// Each rule at its edge. The rules are the conference's own; common practice, no source.

const official = (over: Partial<OfficialToSelect> = {}): OfficialToSelect => ({
  id: 'o',
  active: true,
  facts: nothingKnown,
  gamesHere: 0,
  home: null,
  crewIds: [],
  ties: [],
  workedTeam: new Map(),
  openInquiryOf: [],
  daysElsewhere: [],
  ...over,
});
const graded = (over: Partial<GradedIn> = {}): GradedIn => ({
  officialId: 'o',
  position: 'umpire',
  games: 3,
  grade: null,
  rank: { place: 1, low: 1, high: 2 },
  unrankedReason: null,
  chance: 0.5,
  otherChance: 0.5,
  ...over,
});
const game: GameToFill = {
  id: 'g',
  playedOn: '2031-12-06',
  teams: [
    { id: 'home', name: 'Home' },
    { id: 'visitor', name: 'Visitor' },
  ],
  place: null,
  positions: ['umpire'],
  alternates: 0,
  wholeCrew: false,
};
const none: SelectionRules = {
  ...defaultRules,
  minimumGames: null,
  standing: false,
  availability: false,
  ties: false,
  recentWeeks: null,
  openInquiries: false,
};
const facts = (over: Partial<typeof nothingKnown>) => official({ facts: { ...nothingKnown, ...over } });
const holds = (
  who: OfficialToSelect,
  rules: Partial<SelectionRules>,
  rule: SelectionRuleName,
  one: GradedIn = graded(),
  in_: GameToFill = game,
) =>
  [
    ...eligibility(who, one, { ...none, ...rules }, in_.playedOn),
    ...neutrality(who, in_, { ...none, ...rules }),
  ].find((finding) => finding.rule === rule)?.holds;

describe('eligibility', () => {
  test('a rule that a selection does not have says nothing', () => {
    expect(eligibility(official(), graded(), none, '2031-12-06').map(({ rule }) => rule)).toEqual([
      'ranked in the position',
    ]);
    expect(neutrality(official(), game, none)).toEqual([]);
  });

  test('who is not ranked in the position is told why', () => {
    const [finding] = eligibility(
      official(),
      graded({ rank: null, unrankedReason: 'fewer than 3 games' }),
      none,
      null,
    );
    expect(finding).toEqual({
      rule: 'ranked in the position',
      holds: 'not met',
      why: 'not ranked: fewer than 3 games',
      leavesOut: true,
    });
  });

  test('the least number of games, years and percent is enough, one less is not, not known is neither', () => {
    expect(holds(official(), { minimumGames: 3 }, 'games', graded({ games: 3 }))).toBe('met');
    expect(holds(official(), { minimumGames: 3 }, 'games', graded({ games: 2 }))).toBe('not met');
    expect(holds(facts({ yearsOfService: 5 }), { minimumYears: 5 }, 'years of service')).toBe('met');
    expect(holds(facts({ yearsOfService: 4 }), { minimumYears: 5 }, 'years of service')).toBe('not met');
    expect(holds(facts({}), { minimumYears: 0 }, 'years of service')).toBe('not known');
    expect(holds(facts({ rulesTestScore: 85 }), { rulesTest: 85 }, 'rules test')).toBe('met');
    expect(holds(facts({ rulesTestScore: 84.9 }), { rulesTest: 85 }, 'rules test')).toBe('not met');
    expect(holds(facts({}), { rulesTest: 85 }, 'rules test')).toBe('not known');
  });

  test('a fitness test counts on its last day and not on the next', () => {
    const passed = (fitnessUntil: string | null) => facts({ fitnessPassed: true, fitnessUntil });
    expect(holds(passed('2031-12-06'), { fitness: true }, 'fitness test')).toBe('met');
    expect(holds(passed('2031-12-05'), { fitness: true }, 'fitness test')).toBe('not met');
    expect(holds(passed(null), { fitness: true }, 'fitness test')).toBe('met');
    expect(holds(facts({ fitnessPassed: false }), { fitness: true }, 'fitness test')).toBe('not met');
    expect(holds(facts({}), { fitness: true }, 'fitness test')).toBe('not known');
  });

  test('standing gives its reason; availability is of the season and of the day', () => {
    const bad = eligibility(
      facts({ goodStanding: false, standingReason: 'dues unpaid' }),
      graded(),
      { ...none, standing: true },
      null,
    );
    expect(bad.at(-1)?.why).toBe('not in good standing: dues unpaid');
    expect(holds(facts({ goodStanding: true }), { standing: true }, 'standing')).toBe('met');
    expect(holds(facts({}), { standing: true }, 'standing')).toBe('not known');
    const on = { availability: true };
    expect(holds(facts({ available: true, daysAway: ['2031-12-07'] }), on, 'availability')).toBe('met');
    expect(holds(facts({ available: true, daysAway: ['2031-12-06'] }), on, 'availability')).toBe('not met');
    expect(holds(facts({ daysAway: ['2031-12-06'] }), on, 'availability')).toBe('not met');
    expect(holds(facts({}), on, 'availability')).toBe('not known');
    expect(
      holds(official({ active: false, facts: { ...nothingKnown, available: true } }), on, 'availability'),
    ).toBe('not met');
  });

  test('postseason games lately are those entered or those known here, whichever are more', () => {
    const rule = { mostLately: 1 };
    expect(holds(facts({}), rule, 'postseason games lately')).toBe('not known');
    expect(holds(facts({ postseasonsLately: 1 }), rule, 'postseason games lately')).toBe('met');
    expect(holds(facts({ postseasonsLately: 2 }), rule, 'postseason games lately')).toBe('not met');
    expect(holds(official({ gamesHere: 2 }), rule, 'postseason games lately')).toBe('not met');
    expect(holds(official({ gamesHere: 1 }), rule, 'postseason games lately')).toBe('met');
  });

  test('what is not known leaves out or not, as the selection says; it is never met', () => {
    const findings = (notKnown: SelectionRules['notKnown']) =>
      eligibility(official(), graded(), { ...none, standing: true, notKnown }, null);
    expect(leftOut(findings('leave out'))).toBe(true);
    expect(leftOut(findings('take in'))).toBe(false);
    expect(overall(findings('take in'))).toBe('not known');
  });
});

describe('neutrality', () => {
  test('a tie with either team, and with no other', () => {
    expect(holds(official({ ties: ['visitor'] }), { ties: true }, 'declared tie')).toBe('not met');
    expect(holds(official({ ties: ['other'] }), { ties: true }, 'declared tie')).toBe('met');
  });

  test('a game of either team three weeks before to the day still counts, a day earlier does not', () => {
    const last = (day: string) =>
      holds(official({ workedTeam: new Map([['home', day]]) }), { recentWeeks: 3 }, 'recent game');
    expect(last('2031-11-15')).toBe('not met');
    expect(last('2031-11-14')).toBe('met');
    expect(last('2031-12-06')).toBe('not met');
  });

  test('an open inquiry of a team of the game', () => {
    expect(holds(official({ openInquiryOf: ['home'] }), { openInquiries: true }, 'open inquiry')).toBe(
      'not met',
    );
    expect(holds(official({ openInquiryOf: ['other'] }), { openInquiries: true }, 'open inquiry')).toBe(
      'met',
    );
  });

  test('of a team that is no team of the conference nothing is known, which is said and leaves nobody out', () => {
    const stranger: GameToFill = { ...game, teams: [game.teams[0]!, { id: null, name: 'Elsewhere' }] };
    const rules: SelectionRules = { ...none, ties: true };
    expect(neutrality(official(), stranger, rules)).toEqual([
      {
        rule: 'declared tie',
        holds: 'not known',
        why: 'not known of Elsewhere, no team of the conference',
        leavesOut: false,
      },
    ]);
    expect(leftOut(neutrality(official({ ties: ['home'] }), stranger, rules))).toBe(true);
    const why = (names: [string | null, string][]) =>
      neutrality(official(), { ...game, teams: names.map(([id, name]) => ({ id, name })) }, rules)[0]!.why;
    expect(
      why([
        [null, ''],
        [null, ''],
      ]),
    ).toBe('the teams are not known yet');
    expect(
      why([
        ['home', 'Home'],
        [null, ''],
      ]),
    ).toBe('a team is not known yet');
    expect(
      why([
        [null, 'Elsewhere'],
        [null, ''],
      ]),
    ).toBe('not known of Elsewhere, no team of the conference; a team is not known yet');
  });

  test('who is chosen for a game of another selection that day is not free, whatever the rules', () => {
    expect(holds(official({ daysElsewhere: ['2031-12-06'] }), {}, 'one game a day')).toBe('not met');
    expect(holds(official({ daysElsewhere: ['2031-12-07'] }), {}, 'one game a day')).toBeUndefined();
  });
});

test('findings write days as all pages do', () => {
  const rules: SelectionRules = { ...none, fitness: true, availability: true, recentWeeks: 3 };
  const away = { fitnessPassed: true, fitnessUntil: '2031-12-05', daysAway: ['2031-12-06'] };
  const worked = { workedTeam: new Map([['home', '2031-11-15']]), daysElsewhere: ['2031-12-06'] };
  const said = [
    ...eligibility(facts(away), graded(), rules, '2031-12-06'),
    ...neutrality(official(worked), game, rules),
    ...neutrality(official(), game, rules),
  ].map(({ why }) => why);
  for (const playedOn of ['2031-12-05', '2031-12-06', '2031-11-15'])
    expect(said.join('; ')).toContain(day(playedOn));
  expect(said.filter((why) => /\d{4}-\d\d-\d\d/.test(why))).toEqual([]);
});

test('rules out of bounds are refused by the name of the rule', () => {
  const refused = rulesSchema.safeParse({ minimumGames: -1, mostGamesEach: 0, recentWeeks: 1.5 });
  expect(refused.error?.issues.map(({ message }) => message)).toEqual([
    'The least games in the position must be at least 0',
    'The weeks without a game of either team must be a whole number',
    'The most games for one official must be at least 1',
  ]);
});
