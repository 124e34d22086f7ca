// @module-tag long
import { beforeAll, describe, expect, it } from 'vitest';
import { makeConference } from '../../seed-demo/conference.ts';
import { Draws } from '../../seed-demo/draws.ts';
import { demoFiles } from '../../seed-demo/files.ts';
import { type DemoSeason, demoSeed, makeDemoSeason } from '../../seed-demo/season.ts';
import { type Consequence, consequences, mayHaveConsequence } from '../../server/duties/consequence.ts';
import { effectOf } from '../../server/duties/finding.ts';
import {
  compileRubric,
  forEachOpportunity,
  fullCrew,
  opportunitiesOf,
} from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { playSchema } from '../../server/football/play.ts';
import { positions } from '../../server/football/positions.ts';
import { ProblemList } from '../../server/imports/csv/problems.ts';
import { readRows } from '../../server/imports/csv/read-rows.ts';
import { playsFormat } from '../../server/imports/files/plays.ts';
import { situationCuts } from '../../server/patterns/situation-cuts.ts';
import { demoSeason } from '../support/demo-season.ts';

let season: DemoSeason;
let files: ReturnType<typeof demoFiles>;
beforeAll(() => {
  season = demoSeason();
  files = demoFiles(season);
});

function groupBy<Item>(items: readonly Item[], key: (item: Item) => string): Map<string, Item[]> {
  const groups = new Map<string, Item[]>();
  for (const item of items) {
    const group = groups.get(key(item));
    if (group === undefined) groups.set(key(item), [item]);
    else group.push(item);
  }
  return groups;
}

const average = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;

describe('the demo season', () => {
  it('is the same for the same seed and another for another', () => {
    expect(demoFiles(makeDemoSeason())).toEqual(files);
    // Its conference is drawn from the seed as all else is.
    expect(makeConference(new Draws(7).branch('conference'))).not.toEqual(season.conference);
    expect(makeConference(new Draws(demoSeed).branch('conference'))).toEqual(season.conference);
  });

  it('has the size of a conference: ten teams, eight crews of eight, fourteen observers, eleven weeks', () => {
    const { conference, games, plays } = season;
    expect(conference.teams).toHaveLength(10);
    expect(conference.crews.map((crew) => Object.keys(crew.members).length)).toEqual(new Array(8).fill(8));
    expect(conference.observers).toHaveLength(14);
    expect(new Set(games.map((game) => game.week)).size).toBe(11);
    expect(games).toHaveLength(55);
    expect(new Set(games.map((game) => game.key)).size).toBe(55);
    const lengths = [...plays.values()].map((log) => log.length);
    expect(Math.min(...lengths)).toBeGreaterThan(140);
    expect(Math.max(...lengths)).toBeLessThan(225);
  });

  it('names nobody twice, and some with letters beyond ASCII', () => {
    const { conference } = season;
    const people = [conference.coordinator, ...conference.observers, ...conference.officials];
    expect(new Set(people.map((person) => person.email)).size).toBe(people.length);
    expect(new Set(people.map((person) => `${person.givenName} ${person.familyName}`)).size).toBe(
      people.length,
    );
    expect(
      people.filter((person) => /[^ -~]/.test(person.givenName + person.familyName)).length,
    ).toBeGreaterThan(8);
    expect(people.every((person) => /^[a-z-]+\.[a-z-]+@demo\.example$/.test(person.email))).toBe(true);
  });

  it('seats each team, official and observer once a week', () => {
    for (let week = 1; week <= 11; week += 1) {
      const games = season.games.filter((game) => game.week === week);
      expect(new Set(games.flatMap((game) => [game.home, game.visitor])).size).toBe(10);
      const workers = games.flatMap((game) => Object.values(game.workingCrew));
      expect(new Set(workers).size).toBe(workers.length);
      const keys = new Set(games.map((game) => game.key));
      const watching = season.assignments.filter((a) => keys.has(a.game)).map((a) => a.observer);
      expect(new Set(watching).size).toBe(watching.length);
    }
  });

  it('lets substitutes work, and two observers watch some games', () => {
    const substitutes = new Set(season.conference.substitutes.map((substitute) => substitute.email));
    const seats = season.games.flatMap((game) => Object.values(game.workingCrew));
    expect(seats.filter((email) => substitutes.has(email)).length).toBeGreaterThan(10);
    const reports = new Map<string, number>();
    for (const { game } of season.reports) reports.set(game, (reports.get(game) ?? 0) + 1);
    expect([...reports.values()].filter((count) => count === 2).length).toBeGreaterThan(6);
  });

  it('logs plays that the play model takes, numbered, with a clock that runs down', () => {
    for (const [game, log] of season.plays) {
      let before = { quarter: 1, clock: 900 };
      log.forEach(({ number, play, filmSeconds }, at) => {
        expect(number).toBe(at + 1);
        expect(playSchema.safeParse(play).success, `${game} play ${number}`).toBe(true);
        const now = { quarter: play.quarter ?? 0, clock: play.clockSeconds ?? 0 };
        expect(
          now.quarter > before.quarter || (now.quarter === before.quarter && now.clock <= before.clock),
        ).toBe(true);
        before = now;
        const previous = log[at - 1]?.filmSeconds;
        if (filmSeconds !== null && typeof previous === 'number')
          expect(filmSeconds).toBeGreaterThan(previous);
      });
      expect(before.quarter).toBeGreaterThanOrEqual(4);
    }
  });

  it('carries every kind of play, and the rare ones that duties are about', () => {
    const all = [...season.plays.values()].flat().map(({ play }) => play);
    const kinds = new Set(all.map((play) => play.kind));
    expect(kinds).toEqual(new Set(['run', 'pass', 'punt', 'free kick', 'place kick', 'try', 'no snap']));
    expect(all.some((play) => play.score === 'safety')).toBe(true);
    expect(all.some((play) => play.helmetOff && !play.helmetOffByFoul)).toBe(true);
    expect(all.some((play) => play.onside)).toBe(true);
    expect(all.some((play) => play.measured)).toBe(true);
    expect(all.some((play) => play.fouls?.some((foul) => foul.outcome === 'offsetting'))).toBe(true);
    expect(all.some((play) => play.kind === 'run' && play.endedBy === undefined)).toBe(true);
  });

  it('puts each mark on an opportunity that the play gave, with a comment where something was missed', () => {
    const rubric = compileRubric(startingRubric);
    const crew = fullCrew(8);
    const marksOn = groupBy(
      season.reports.flatMap((report) => report.marks.map((mark) => ({ ...mark, game: report.game }))),
      (mark) => `${mark.game} ${mark.play}`,
    );
    for (const [game, log] of season.plays) {
      for (const { number, play } of log) {
        const marks = marksOn.get(`${game} ${number}`) ?? [];
        if (marks.length === 0) continue;
        const owed = new Set(
          opportunitiesOf(play, crew, rubric).map((one) => `${one.position} ${one.dutyKey}`),
        );
        for (const mark of marks) {
          const wholeGame = startingRubric.some((duty) => duty.key === mark.dutyKey && duty.per === 'game');
          if (wholeGame) expect(number).toBe(log.length);
          else expect(owed.has(`${mark.position} ${mark.dutyKey}`)).toBe(true);
          if (effectOf(mark.finding) === 'not met') expect(mark.comment).not.toBe('');
        }
      }
    }
  });

  it('tells what most wrong calls and missed fouls cost, leaves some out, and none beside other findings', () => {
    const marks = season.reports.flatMap((report) =>
      report.marks.map((mark) => ({
        ...mark,
        of: season.plays.get(report.game)!.find(({ number }) => number === mark.play)!.play,
      })),
    );
    const calls = marks.filter(({ finding }) => mayHaveConsequence(finding));
    expect(marks.filter((mark) => mark.consequence !== null && !calls.includes(mark))).toEqual([]);
    const judged = calls.filter(({ consequence }) => consequence !== null);
    expect(judged.length / calls.length).toBeGreaterThan(0.6);
    expect(judged.length / calls.length).toBeLessThan(0.9);
    const times = (cost: Consequence) => judged.filter(({ consequence }) => consequence === cost).length;
    for (const cost of consequences) expect(times(cost), cost).toBeGreaterThan(5);
    // Most cost yards; a score is the rarest but one.
    expect(times('yards')).toBeGreaterThan(times('possession'));
    expect(times('possession') + times('score')).toBeLessThan(judged.length / 2);
    // Where nobody scored, no foul that was missed cost a score; what a review turned around cost nothing.
    for (const { finding, consequence, of } of judged) {
      if (finding === 'missed foul' && consequence === 'score') expect(of.score ?? 'none').not.toBe('none');
      if (of.replay === 'overturned' && finding === 'wrong call' && (of.fouls ?? []).length === 0)
        expect(consequence).toBe('none');
    }
  });

  it('has reports in every state', () => {
    expect(new Set(season.reports.map((report) => report.state))).toEqual(
      new Set(['draft', 'filed', 'returned', 'accepted', 'released']),
    );
    expect(new Set(season.assignments.map((assignment) => assignment.answer))).toEqual(
      new Set(['offered', 'accepted', 'declined']),
    );
  });
});

describe('the truth behind the demo season', () => {
  const rubric = compileRubric(startingRubric);

  interface Tally {
    email: string;
    position: string;
    dutyKey: string;
    week: number;
    observer: string;
    crew: string;
    late: boolean;
    chances: number;
    misses: number;
  }
  let all: Tally[];
  beforeAll(() => {
    all = tallies();
  });

  /** Misses and chances per report, position, duty, and whether it was late in a half. Drafts are left out. */
  function tallies() {
    const crew = fullCrew(8);
    const games = new Map(season.games.map((game) => [game.key, game]));
    const late = situationCuts.find((cut) => cut.key === 'late in halves')!;
    return season.reports
      .filter(({ state }) => state !== 'draft')
      .flatMap((report) => {
        const game = games.get(report.game)!;
        const missed = new Set(
          report.marks
            .filter((mark) => effectOf(mark.finding) === 'not met')
            .map((mark) => `${mark.play} ${mark.position} ${mark.dutyKey}`),
        );
        const found = new Map<string, Tally>();
        for (const { number, play } of season.plays.get(report.game) ?? []) {
          const isLate = late.decide(play) === true;
          forEachOpportunity(play, crew, rubric, (position, duty) => {
            const key = `${position} ${duty.key} ${isLate}`;
            let tally = found.get(key);
            if (tally === undefined) {
              tally = {
                email: game.workingCrew[position],
                position,
                dutyKey: duty.key,
                week: game.week,
                observer: report.observer,
                crew: game.crew,
                late: isLate,
                chances: 0,
                misses: 0,
              };
              found.set(key, tally);
            }
            tally.chances += 1;
            if (missed.has(`${number} ${position} ${duty.key}`)) tally.misses += 1;
          });
        }
        return [...found.values()];
      });
  }

  const chancesIn = (list: readonly Tally[]) => list.reduce((sum, { chances }) => sum + chances, 0);
  const rate = (list: readonly Tally[]) =>
    list.reduce((sum, { misses }) => sum + misses, 0) / chancesIn(list);

  it('shows in what observers wrote: planted misses are missed at about their rate, and mended when they were', () => {
    expect(season.truth.planted.length).toBe(8);
    for (const miss of season.truth.planted) {
      const own = all.filter(
        (one) => one.email === miss.email && one.position === miss.position && one.dutyKey === miss.dutyKey,
      );
      const during = own.filter((one) => miss.untilWeek === null || one.week <= miss.untilWeek);
      const base = season.truth.baseMissRate[miss.dutyKey] ?? 0;
      if (chancesIn(during) >= 10) expect(rate(during), miss.dutyKey).toBeGreaterThan(base + 0.05);
    }
    const mended = season.truth.planted.filter((miss) => miss.untilWeek !== null);
    expect(mended).toHaveLength(2);
  });

  it('shows the miss that comes late in halves only, and the duty that one crew lets slip', () => {
    const [late] = season.truth.plantedInSituation;
    const own = all.filter((one) => one.email === late?.email && one.dutyKey === late.dutyKey);
    expect(rate(own.filter((one) => one.late))).toBeGreaterThan(rate(own.filter((one) => !one.late)) + 0.1);
    const [slip] = season.truth.plantedInCrew;
    const duty = all.filter((one) => one.dutyKey === slip?.dutyKey);
    expect(rate(duty.filter((one) => one.crew === slip?.crew))).toBeGreaterThan(
      rate(duty.filter((one) => one.crew !== slip?.crew)) * 3,
    );
  });

  it('makes the strictest observer mark more, and the ablest officials miss less', () => {
    const rateBy = (key: (one: Tally) => string) => {
      const groups = groupBy(all, key);
      return new Map([...groups].map(([name, list]) => [name, rate(list)]));
    };
    const byObserver = rateBy((one) => one.observer);
    const severities = [...season.truth.severity].sort((a, b) => a.severity - b.severity);
    const half = Math.floor(severities.length / 2);
    const observed = (list: typeof severities) =>
      average(list.map(({ email }) => byObserver.get(email) ?? 0));
    expect(observed(severities.slice(half))).toBeGreaterThan(observed(severities.slice(0, half)));

    const byOfficial = rateBy((one) => one.email);
    const overall = (byCategory: Record<string, number>) => average(Object.values(byCategory));
    const skilled = [...season.truth.skill]
      .filter(({ email }) => byOfficial.has(email))
      .sort((a, b) => overall(a.byCategory) - overall(b.byCategory));
    const third = Math.floor(skilled.length / 3);
    const missed = (list: typeof skilled) => average(list.map(({ email }) => byOfficial.get(email) ?? 0));
    expect(missed(skilled.slice(0, third))).toBeGreaterThan(missed(skilled.slice(-third)) * 1.3);
  });

  it('names positions that exist and officials who worked them', () => {
    for (const miss of season.truth.planted) {
      expect(positions).toContain(miss.position);
      expect(season.games.some((game) => game.workingCrew[miss.position] === miss.email)).toBe(true);
    }
  });
});

describe('the demo files', () => {
  it('say each play as it was made', async () => {
    const file = files.find(({ name }) => name === 'plays');
    const problems = new ProblemList();
    async function* source() {
      yield Buffer.from(file?.text ?? '');
    }
    let rows = 0;
    for await (const { row } of readRows(source(), playsFormat, problems)) {
      rows += 1;
      const { game, number, filmSeconds, note, season: _season, ...cells } = row;
      const made = season.plays.get(game)?.[number - 1];
      const facts = Object.fromEntries(Object.entries(cells).filter(([, value]) => value !== null));
      expect(facts).toEqual(made?.play);
      expect([filmSeconds, note]).toEqual([made?.filmSeconds, made?.note]);
    }
    expect(problems.listed).toEqual([]);
    expect(rows).toBe([...season.plays.values()].flat().length);
  });
});
