// @module-tag long
import { beforeAll, describe, expect, it } from 'vitest';
import type { DemoSeason } from '../../seed-demo/season.ts';
import { compileRubric, forEachOpportunity, fullCrew } from '../../server/duties/opportunities.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import { positionsOf } from '../../server/football/crews.ts';
import { nextPlay } from '../../server/football/next-play.ts';
import type { Play } from '../../server/football/play.ts';
import { type Position, positions } from '../../server/football/positions.ts';
import { usualPractices } from '../../server/football/practices.ts';
import { crewOnField } from '../../server/football/zones/crew-on-field.ts';
import { leavesASpot, spotOwner, whoMayHaveEnded } from '../../server/football/zones/ending.ts';
import { demoSeason } from '../support/demo-season.ts';
import { isOutsideTheirDepth } from './depth.ts';

let season: DemoSeason;
let logs: { game: string; log: { number: number; play: Play }[] }[];
let all: Play[];
beforeAll(() => {
  season = demoSeason();
  logs = [...season.plays].map(([game, log]) => ({ game, log }));
  all = logs.flatMap(({ log }) => log.map(({ play }) => play));
});

const crew = crewOnField(positions, usualPractices);
const isMarked = (dutyKey: string) =>
  season.reports.some(({ marks }) => marks.some((mark) => mark.dutyKey === dutyKey));
const some = (is: (play: Play) => boolean | undefined) => all.some((play) => is(play) === true);

describe('one play after another in the demo', () => {
  /** Where the next play has to start is a rule of the log, not of the demo (`server/football/next-play.ts`). */
  it('starts where the last one ended, unless a penalty or a half came between', () => {
    let followed = 0;
    for (const { game, log } of logs) {
      log.slice(1).forEach(({ number, play }, at) => {
        const last = log[at]!.play;
        const newHalf = (play.quarter ?? 0) >= 3 && (last.quarter ?? 0) <= 2;
        const moved = last.fouls?.some(({ outcome }) => outcome === 'accepted' || outcome === 'offsetting');
        const openEnd =
          last.inadvertentWhistle ||
          last.kickResult === 'blocked' ||
          last.looseBall === 'muff' ||
          last.onside;
        if (newHalf || moved || openEnd || (play.quarter ?? 0) > 4) return;
        const { kind: _kind, clockAbout: _clock, quarter: _quarter, ...starts } = nextPlay(last, 'college');
        expect(play, `${game} play ${number}`).toMatchObject(starts);
        followed += 1;
      });
    }
    expect(followed).toBeGreaterThan(6000);
  });

  it('starts after penalties where the enforcement of the entry puts it, where that can be known', () => {
    // The demo's penalties are written apart from `enforcement.ts`: two tellings of the same rules.
    let proposed = 0;
    let open = 0;
    const apart: string[] = [];
    for (const { game, log } of logs) {
      log.slice(1).forEach(({ number, play }, at) => {
        const last = log[at]!.play;
        const moved = last.fouls?.some(({ outcome }) => outcome === 'accepted' || outcome === 'offsetting');
        const newHalf = (play.quarter ?? 0) >= 3 && (last.quarter ?? 0) <= 2;
        if (
          !moved ||
          newHalf ||
          (play.quarter ?? 0) > 4 ||
          (last.kind !== 'run' && last.kind !== 'pass' && last.kind !== 'no snap')
        )
          return;
        const { down, distance, spot, offense } = nextPlay(last, 'college');
        if (down === undefined) open += 1;
        else if (
          play.down === down &&
          play.spot === spot &&
          play.distance === distance &&
          play.offense === offense
        )
          proposed += 1;
        else
          apart.push(
            `${game} ${number}: ${JSON.stringify(last.fouls)} from ${last.down} & ${last.distance} at ${last.spot}, ended ${last.endSpot} ${last.passResult ?? last.kind} ${last.turnover}: ${play.down} & ${play.distance} at ${play.spot} ${play.offense === last.offense}, not ${down} & ${distance} at ${spot}`,
          );
      });
    }
    console.log(`penalties carried on as in the demo: ${proposed}, left open: ${open}`);
    expect(apart).toEqual([]);
    expect(proposed).toBeGreaterThan(500);
    expect(open).toBeLessThan(proposed / 10);
  });

  it('moves the ball by no more than a penalty can, when there was one', () => {
    for (const { game, log } of logs) {
      log.slice(1).forEach(({ number, play }, at) => {
        const last = log[at]!.play;
        const outcomes = last.fouls?.map(({ outcome }) => outcome) ?? [];
        const repeated = outcomes.includes('offsetting') && !outcomes.includes('accepted');
        if (repeated && (play.quarter ?? 0) <= 4 && play.quarter === last.quarter) {
          expect([play.spot, play.down, play.offense], `${game} play ${number}`).toEqual([
            last.spot,
            last.down,
            last.offense,
          ]);
        }
        const penalty = last.fouls?.filter(({ outcome }) => outcome === 'accepted') ?? [];
        const sameHalf = (play.quarter ?? 0) <= 2 || (last.quarter ?? 0) >= 3;
        if (penalty.length !== 1 || last.kind !== 'no snap' || !sameHalf) return;
        const sign = penalty[0]!.by === 'offense' ? -1 : 1;
        const moved = sign * (play.spot - last.spot);
        expect(moved, `${game} play ${number}`).toBeGreaterThanOrEqual(0);
        expect(moved, `${game} play ${number}`).toBeLessThanOrEqual(5);
      });
    }
  });

  it('has goal to go wherever the line to gain would lie over the goal line', () => {
    for (const play of all) {
      if (play.distance === undefined) continue;
      expect(play.spot + play.distance).toBeLessThanOrEqual(100);
      if (play.down === 1 && play.spot > 90 && play.kind !== 'no snap')
        expect(play.spot + play.distance).toBe(100);
    }
  });

  it('scores what the log says: tries follow touchdowns, free kicks follow scores', () => {
    for (const { log } of logs) {
      log.forEach(({ play }, at) => {
        const last = log[at - 1]?.play;
        if (play.kind === 'try') expect(last?.score).toBe('touchdown');
        const opens = last === undefined || (play.quarter === 3 && last.quarter === 2);
        if (play.kind === 'free kick' && !opens)
          expect(last.kind === 'try' || last.score === 'field goal' || last.score === 'safety').toBe(true);
        if (last?.score === 'safety' && play.quarter === last.quarter) expect(play.spot).toBe(20);
      });
    }
  });

  it('never lets a clock run backward, and ends each half on it', () => {
    for (const { log } of logs) {
      const timed = log.map(({ play }) => play).filter(({ quarter }) => (quarter ?? 0) <= 4);
      timed.slice(1).forEach((play, at) => {
        const last = timed[at]!;
        if (play.quarter === last.quarter) expect(play.clockSeconds).toBeLessThanOrEqual(last.clockSeconds!);
      });
    }
  });
});

describe('who has what in the demo', () => {
  it('leaves no end of a play without an owner of its spot', () => {
    const without = all.filter(
      (play) =>
        leavesASpot(play) !== false && !(positions as readonly string[]).includes(spotOwner(play, crew)),
    );
    console.log(`ends that leave a spot without an owner: ${without.length}`);
    expect(without).toEqual([]);
  });

  it('has each play ended by an official in whose zone it was', () => {
    for (const { endedBy, ...play } of all) {
      if (endedBy === undefined || play.score !== 'none' || play.kickResult === 'touchback') continue;
      expect(whoMayHaveEnded(play, crew)).toContain(endedBy);
    }
  });

  // Common practice, no source: the wings start on the goal line on snaps at or inside the 5.
  it('has touchdowns from inside the 5 ended by wings, but for passes caught in the middle of the end zone', () => {
    const carriedIn = all.filter(
      (play) =>
        (play.kind === 'run' || play.kind === 'pass') &&
        play.spot >= 95 &&
        play.endSpot === 100 &&
        play.endedBy !== undefined &&
        play.score === 'touchdown' &&
        !(play.kind === 'pass' && play.playSide === 'middle'),
    );
    expect(carriedIn.length).toBeGreaterThan(50);
    for (const { endedBy } of carriedIn) expect(['head linesman', 'line judge']).toContain(endedBy);
  });

  it('lets every starting duty occur', () => {
    const rubric = compileRubric(startingRubric);
    const occurs = new Set<string>();
    for (const play of all)
      forEachOpportunity(play, fullCrew(8), rubric, (_position, duty) => occurs.add(duty.key));
    // What is owed once a game is owed in each; here it has to be marked in some.
    for (const duty of startingRubric) if (duty.per === 'game' && isMarked(duty.key)) occurs.add(duty.key);
    const never = startingRubric.filter(({ key }) => !occurs.has(key)).map(({ key }) => key);
    console.log(`starting duties that never occur: ${never.length} of ${startingRubric.length}`);
    expect(never).toEqual([]);
  });
});

describe('the depth of officials in the demo', () => {
  it('gives no opportunity to an official who was too far away, or across the field', () => {
    const rubric = compileRubric(startingRubric);
    for (const size of [6, 7, 8] as const) {
      const works = (position: Position | undefined) =>
        position !== undefined && positionsOf(size).includes(position);
      let asked = 0;
      const outside: string[] = [];
      for (const logged of all) {
        // The demo's crews are of eight: whom this crew has not cannot have ruled.
        const play = works(logged.ruledBy) ? logged : { ...logged, ruledBy: undefined };
        forEachOpportunity(play, fullCrew(size), rubric, (position, { key }) => {
          const far = isOutsideTheirDepth(play, position, key);
          if (far === undefined) return;
          asked += 1;
          if (far) outside.push(`${position}: ${key}`);
        });
      }
      console.log(
        `opportunities outside the official's depth, crew of ${size}: ${outside.length} of ${asked}`,
      );
      expect(asked).toBeGreaterThan(15_000);
      expect([...new Set(outside)]).toEqual([]);
    }
  });
});

describe('the rare things in the demo', () => {
  const called = (name: string) => (play: Play) => play.fouls?.some(({ foul }) => foul === name);
  it.each<[string, (play: Play) => boolean | undefined]>([
    ['two fouls on a play', ({ fouls }) => fouls?.length === 2],
    ['three fouls on a play', ({ fouls }) => fouls?.length === 3],
    ['offsetting fouls', ({ fouls }) => fouls?.some(({ outcome }) => outcome === 'offsetting')],
    ['a declined penalty', ({ fouls }) => fouls?.some(({ outcome }) => outcome === 'declined')],
    ['a flag picked up', ({ fouls }) => fouls?.some(({ outcome }) => outcome === 'picked up')],
    ['targeting with a disqualification', (play) => called('targeting')(play) && play.ejection],
    ['intentional grounding', called('intentional grounding')],
    ['an illegal forward pass', called('illegal forward pass')],
    ['kick-catch interference', called('kick-catch interference')],
    ['a free kick out of bounds', called('free kick out of bounds')],
    ['a sideline warning', called('sideline warning')],
    ['a kneel-down', ({ snapFor }) => snapFor === 'kneel'],
    ['a spike', ({ snapFor }) => snapFor === 'spike'],
    ['an onside kick', ({ onside }) => onside],
    ['a fair catch', ({ kickResult }) => kickResult === 'fair catch'],
    ['a muff', ({ looseBall }) => looseBall === 'muff'],
    ['a blocked punt', ({ kind, kickResult }) => kind === 'punt' && kickResult === 'blocked'],
    ['a blocked field goal', ({ kind, kickResult }) => kind === 'place kick' && kickResult === 'blocked'],
    ['a safety', ({ score }) => score === 'safety'],
    ['a touchback', ({ kickResult }) => kickResult === 'touchback'],
    ['first touching', ({ firstTouching }) => firstTouching],
    ['momentum', ({ momentum }) => momentum],
    ['a sack-fumble', ({ passResult, looseBall }) => passResult === 'sack' && looseBall === 'fumble'],
    ['a backward pass', ({ backwardPass }) => backwardPass],
    ['a shift', ({ shift }) => shift],
    ['motion', ({ motionFrom }) => motionFrom !== undefined],
    ['a team time-out of the defense', ({ timeoutBy }) => timeoutBy === 'defense'],
    ['the two-minute time-out', ({ clockStoppedFor }) => clockStoppedFor === 'official time-out'],
    ['a measurement', ({ measured }) => measured],
    ['a review confirmed', ({ replay }) => replay === 'confirmed'],
    ['a review that stands', ({ replay }) => replay === 'stands'],
    ['a review overturned', ({ replay }) => replay === 'overturned'],
    ['an injury', ({ injury }) => injury],
    ['a helmet off', ({ helmetOff }) => helmetOff],
    ['a confrontation', ({ confrontation }) => confrontation],
    ['a coach who disputes', ({ coachDispute }) => coachDispute],
    ['an inadvertent whistle', ({ inadvertentWhistle }) => inadvertentWhistle],
    ['a ten-second runoff', ({ tenSecondRunoff }) => tenSecondRunoff],
    ['two rulings that differ', ({ rulingsDiffered }) => rulingsDiffered],
    ['overtime', ({ quarter }) => quarter === 5],
  ])('include %s', (_what, is) => {
    expect(some(is)).toBe(true);
  });
});
