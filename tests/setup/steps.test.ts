import { describe, expect, test } from 'vitest';
import type { SeasonStepName, StepAnswer } from '../../server/schedule/season-steps.ts';
import { isSetUp, nextStep, type SetupFacts, setupSteps, stepKeys } from '../../server/setup/steps.ts';

const firstDay: SetupFacts = {
  conference: {
    name: 'Test Conference',
    timeZone: 'America/Chicago',
    code: 'college',
    crewSize: 5,
    confirmed: false,
    replyDays: 10,
    reportDays: 3,
  },
  season: null,
  rubric: null,
  venues: 0,
  teams: 0,
  officials: 0,
  observers: 0,
  crews: { whole: 0, short: [] },
  games: { all: 0, weeks: 0, withoutCrew: 0 },
  invitations: { come: 0, invited: 0, missing: 0 },
};

const season = (answers: [SeasonStepName, StepAnswer][] = [], weeks = 4): SetupFacts['season'] => ({
  id: 's1',
  name: '2031',
  crewSize: 5,
  weeks,
  minimumGames: 3,
  minimumOpportunities: 100,
  postseasonPlaces: 2,
  answers: new Map(answers),
});

const ready: SetupFacts = {
  ...firstDay,
  conference: { ...firstDay.conference, confirmed: true },
  season: season([
    ['rubric', 'confirmed'],
    ['settings', 'confirmed'],
  ]),
  rubric: { duties: 90, lacks: undefined },
  venues: 2,
  teams: 4,
  officials: 10,
  observers: 2,
  crews: { whole: 2, short: [] },
  games: { all: 8, weeks: 4, withoutCrew: 0 },
  invitations: { come: 1, invited: 11, missing: 0 },
};

const states = (facts: SetupFacts) =>
  Object.fromEntries(setupSteps(facts).map(({ key, state }) => [key, state]));
const step = (facts: SetupFacts, key: string) => setupSteps(facts).find((one) => one.key === key)!;

describe('the list of what is still to do', () => {
  test('keeps its order', () => {
    expect(setupSteps(firstDay).map(({ key }) => key)).toEqual(stepKeys);
  });

  test('on the first day asks for the conference first; what belongs to a season waits for one', () => {
    expect(states(firstDay)).toEqual({
      conference: 'to do',
      season: 'to do',
      rubric: 'waits',
      places: 'to do',
      staff: 'to do',
      crews: 'waits',
      schedule: 'waits',
      invitations: 'to do',
      settings: 'waits',
    });
    expect(nextStep(setupSteps(firstDay))?.key).toBe('conference');
  });

  test('is done when every step is', () => {
    expect(isSetUp(setupSteps(ready))).toBe(true);
    expect(nextStep(setupSteps(ready))).toBeUndefined();
  });

  test.each<[string, Partial<SetupFacts>, string, string]>([
    [
      'a season without weeks or games',
      { season: season([], 0), games: { all: 0, weeks: 0, withoutCrew: 0 } },
      'season',
      'in part',
    ],
    ['a rubric nobody looked through', { season: season() }, 'rubric', 'in part'],
    ['no rubric', { rubric: null }, 'rubric', 'to do'],
    ['venues without teams', { teams: 1 }, 'places', 'in part'],
    ['too few officials for a crew', { officials: 4 }, 'staff', 'in part'],
    ['no observer', { observers: 0 }, 'staff', 'in part'],
    ['a crew that is short', { crews: { whole: 1, short: ['Crew B'] } }, 'crews', 'in part'],
    ['no game', { games: { all: 0, weeks: 0, withoutCrew: 0 } }, 'schedule', 'to do'],
    ['somebody not invited', { invitations: { come: 1, invited: 10, missing: 1 } }, 'invitations', 'in part'],
  ])('with %s that step is not done', (_what, change, key, state) => {
    const steps = setupSteps({ ...ready, ...change });
    expect(steps.find((one) => one.key === key)?.state).toBe(state);
    expect(isSetUp(steps)).toBe(false);
  });

  test('a rubric that lacks the crew size says so though it was confirmed', () => {
    const lacks = 'The rubric expects nothing of a crew of 5.';
    expect(step({ ...ready, rubric: { duties: 3, lacks } }, 'rubric')).toMatchObject({
      state: 'in part',
      says: lacks,
    });
  });

  test('crews and invitations may be left out, others not; what was done since counts', () => {
    const none = { ...ready, crews: { whole: 0, short: [] } };
    const leftOut = season([
      ['rubric', 'confirmed'],
      ['settings', 'confirmed'],
      ['crews', 'left out'],
    ]);
    expect(step(none, 'crews')).toMatchObject({ state: 'to do', mayLeaveOut: true });
    expect(step({ ...none, season: leftOut }, 'crews')).toMatchObject({ state: 'done', leftOut: true });
    expect(step({ ...ready, season: leftOut }, 'crews').says).toBe('2 crews of 5.');
    expect(
      setupSteps(firstDay)
        .filter(({ mayLeaveOut }) => mayLeaveOut)
        .map(({ key }) => key),
    ).toEqual(['crews', 'invitations']);
  });

  test('each step that does not wait leads somewhere', () => {
    for (const facts of [firstDay, ready, { ...firstDay, season: season() }]) {
      for (const { state, links, key } of setupSteps(facts)) {
        expect(links.length > 0, key).toBe(state !== 'waits');
      }
    }
  });
});
