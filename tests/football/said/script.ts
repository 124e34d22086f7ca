import type { Play } from '../../../server/football/play.ts';

// Twenty-five plays of a game of our own invention, as an observer would type them, and the facts of each, written
// down from what happened on the field. Larkmoor (LAR) is at home, Coppermesa (COP) visits; the head linesman's
// sideline is at the left hand of the offense. `starts` is what the entry proposes before anything is typed.

export interface ScriptedPlay {
  readonly what: string;
  readonly starts: Play;
  readonly line: string;
  /** What the line has to add to the start, besides what the rules imply. */
  readonly facts: Partial<Play>;
  /** Ordinary plays are to cost about 12 keys, the others 20 seconds. */
  readonly ordinary: boolean;
}

const head = 'head linesman side';
const line = 'line judge side';
const down = (
  offense: 'home' | 'visitor',
  on: number,
  distance: number,
  spot: number,
  kind: Play['kind'] = 'run',
): Play => ({ kind, spot, quarter: 1, clockAbout: 700, down: on, distance, offense });
const kickoff = (offense: 'home' | 'visitor'): Play => ({
  kind: 'free kick',
  spot: 35,
  quarter: 1,
  clockSeconds: 900,
  offense,
});
const aTry: Play = { kind: 'try', spot: 97, quarter: 1, clockAbout: 500, offense: 'visitor' };

export const script: readonly ScriptedPlay[] = [
  {
    what: 'COP kicks off; caught at LAR 4, returned to LAR 27, tackled in bounds on the line judge’s side',
    starts: kickoff('visitor'),
    line: '@4 ret @27r',
    facts: {
      kickResult: 'returned',
      kickTo: 96,
      endSpot: 73,
      playSide: line,
      endSide: line,
      outOfBounds: false,
    },
    ordinary: true,
  },
  {
    what: '1st and 10 LAR 27: run left, 3 yards, tackled in bounds',
    starts: down('home', 1, 10, 27),
    line: 'run left 3',
    facts: { playSide: head, endSide: head, endSpot: 30, outOfBounds: false },
    ordinary: true,
  },
  {
    what: '2nd and 7 LAR 30: quick pass right, caught behind the line, out of bounds after 5',
    starts: down('home', 2, 7, 30),
    line: 'q r5 out',
    facts: {
      kind: 'pass',
      quickPass: true,
      passResult: 'complete',
      playSide: line,
      endSide: line,
      endSpot: 35,
      outOfBounds: true,
    },
    ordinary: true,
  },
  {
    what: '3rd and 2 LAR 35: run middle into a pile, line to gain in question, measured, short',
    starts: down('home', 3, 2, 35),
    line: 'm pile meas sho',
    facts: {
      playSide: 'middle',
      endSide: 'middle',
      pile: true,
      lineToGainInQuestion: true,
      measured: true,
      endSpot: 36,
      outOfBounds: false,
    },
    ordinary: false,
  },
  {
    what: '4th and 1 LAR 36: punt, muffed at COP 22, loose ball, recovered by COP at COP 20 in a pile',
    starts: down('home', 4, 1, 36, 'punt'),
    line: 'mu 22 rec cop 20 pile',
    facts: {
      kickTo: 78,
      kickTouchedBy: 'receiving team',
      kickResult: 'returned',
      looseBall: 'muff',
      looseBallSpot: 78,
      recoveredBy: 'defense',
      turnover: 'none',
      endSpot: 80,
      pile: true,
    },
    ordinary: false,
  },
  {
    what: '1st and 10 COP 20: pass deep left, incomplete, defensive pass interference, accepted',
    starts: down('visitor', 1, 10, 20),
    line: 'deep 25 l inc dpi acc',
    facts: {
      kind: 'pass',
      passResult: 'incomplete',
      catchDepth: 25,
      playSide: head,
      fouls: [{ foul: 'defensive pass interference', by: 'defense', outcome: 'accepted' }],
    },
    ordinary: false,
  },
  {
    what: '1st and 10 COP 35: pass under pressure, thrown away; intentional grounding that nobody called',
    starts: down('visitor', 1, 10, 35),
    line: 'aw pr no f',
    facts: { kind: 'pass', passResult: 'incomplete', pressure: true, fouls: [] },
    ordinary: false,
  },
  {
    what: '2nd and 10 COP 35: sack, fumble, recovered by COP at COP 28',
    starts: down('visitor', 2, 10, 35),
    line: 'sack fum rec cop 28',
    facts: {
      kind: 'pass',
      passResult: 'sack',
      looseBall: 'fumble',
      recoveredBy: 'offense',
      turnover: 'none',
      endSpot: 28,
    },
    ordinary: false,
  },
  {
    what: '3rd and 17 COP 28: draw right, 11 yards, helmet of the runner off, no foul; official’s time-out',
    starts: down('visitor', 3, 17, 28),
    line: 'draw r 11 helm no foul offi',
    facts: {
      playSide: line,
      endSide: line,
      endSpot: 39,
      outOfBounds: false,
      helmetOff: true,
      helmetOffByFoul: false,
      fouls: [],
      timeout: 'official',
    },
    ordinary: false,
  },
  {
    what: '4th and 6 COP 39: punt, fair catch at LAR 18',
    starts: down('visitor', 4, 6, 39, 'punt'),
    line: 'fair @18',
    facts: { kickResult: 'fair catch', kickTo: 82, endSpot: 82 },
    ordinary: true,
  },
  {
    what: '1st and 10 LAR 18: run right, 14 yards, holding by the offense on the edge, accepted',
    starts: down('home', 1, 10, 18),
    line: 'r14 ho ac',
    facts: {
      playSide: line,
      endSide: line,
      endSpot: 32,
      outOfBounds: false,
      fouls: [{ foul: 'holding', by: 'offense', outcome: 'accepted' }],
    },
    ordinary: false,
  },
  {
    what: '1st and 20 LAR 8: run left to LAR 4, tackled in bounds',
    starts: down('home', 1, 20, 8),
    line: 'l to 4',
    facts: { playSide: head, endSide: head, endSpot: 4, outOfBounds: false },
    ordinary: true,
  },
  {
    what: '2nd and 24 LAR 4: pass, caught at LAR 15 near the left sideline, in or out in question, ruled caught',
    starts: down('home', 2, 24, 4),
    line: 'p l11 c?',
    facts: {
      kind: 'pass',
      passResult: 'complete',
      catchInQuestion: true,
      playSide: head,
      endSide: head,
      endSpot: 15,
      outOfBounds: false,
    },
    ordinary: true,
  },
  {
    what: '3rd and 13 LAR 15: intercepted at LAR 38, returned to LAR 9, out of bounds on the head linesman’s side; block in the back on the return and a late hit by LAR: offsetting',
    starts: down('home', 3, 13, 15),
    line: 'int 38 ret to 9 l out back b def offset late h off',
    facts: {
      kind: 'pass',
      passResult: 'intercepted',
      catchDepth: 23,
      endSpot: 9,
      endSide: head,
      outOfBounds: true,
      fouls: [
        { foul: 'block in the back', by: 'defense', outcome: 'offsetting' },
        { foul: 'late hit', by: 'offense', outcome: 'offsetting' },
      ],
    },
    ordinary: false,
  },
  {
    what: '3rd and 13 LAR 15 again: incomplete, deep right, catchable, contact, no flag',
    starts: down('home', 3, 13, 15),
    line: 'r28 inc no f',
    facts: { kind: 'pass', passResult: 'incomplete', catchDepth: 28, playSide: line, fouls: [] },
    ordinary: false,
  },
  {
    what: '4th and 13 LAR 15: punt blocked, recovered by COP in the field at LAR 6',
    starts: down('home', 4, 13, 15, 'punt'),
    line: 'block rec cop 6',
    facts: { kickResult: 'blocked', looseBall: 'blocked kick', recoveredBy: 'defense', endSpot: 6 },
    ordinary: false,
  },
  {
    what: '1st and goal LAR 6: run right to the 1, tackled in bounds',
    starts: down('visitor', 1, 6, 94),
    line: 'r to 1',
    facts: { playSide: line, endSide: line, endSpot: 99, outOfBounds: false },
    ordinary: true,
  },
  {
    what: '2nd and goal LAR 1: run middle, pile, touchdown',
    starts: down('visitor', 2, 1, 99),
    line: 'm pile td',
    facts: {
      playSide: 'middle',
      endSide: 'middle',
      pile: true,
      score: 'touchdown',
      endSpot: 100,
      outOfBounds: false,
    },
    ordinary: true,
  },
  {
    what: 'Try by kick, good; roughing the holder, declined',
    starts: aTry,
    line: 'good roughing the h dec',
    facts: {
      tryBy: 'kick',
      kickResult: 'good',
      score: 'try good',
      fouls: [{ foul: 'roughing the holder', by: 'defense', outcome: 'declined' }],
    },
    ordinary: false,
  },
  {
    what: 'COP kicks off, onside, touched first by COP at COP 44, recovered by LAR at COP 46',
    starts: { ...kickoff('visitor'), clockSeconds: 576 },
    line: 'onside touched f 44 rec lar 46',
    facts: {
      onside: true,
      firstTouching: true,
      kickTo: 44,
      recoveredBy: 'defense',
      endSpot: 46,
      kickResult: 'downed',
    },
    ordinary: false,
  },
  {
    what: '1st and 10 COP 46: backward pass left, then forward pass complete, 20 yards, no flag',
    starts: down('home', 1, 10, 54),
    line: 'backw l p 20 no fl',
    facts: {
      kind: 'pass',
      backwardPass: true,
      passResult: 'complete',
      playSide: head,
      endSide: head,
      endSpot: 74,
      outOfBounds: false,
      fouls: [],
    },
    ordinary: false,
  },
  {
    what: '0:41 2nd quarter, 3rd and 8 COP 24: pass, caught in bounds at COP 13, clock runs; LAR calls time-out',
    starts: { ...down('home', 3, 8, 76), quarter: 2, clockAbout: 60 },
    line: '0:41 p 11 runs ti lar',
    facts: {
      kind: 'pass',
      clockSeconds: 41,
      passResult: 'complete',
      endSpot: 87,
      outOfBounds: false,
      clockAfter: 'running',
      timeout: 'team',
      timeoutBy: 'offense',
    },
    ordinary: false,
  },
  {
    what: '0:33 1st and 10 COP 13: spike',
    starts: { ...down('home', 1, 10, 87), quarter: 2, clockAbout: 35 },
    line: '0:33 spike',
    facts: { kind: 'pass', clockSeconds: 33, snapFor: 'spike', hurryUp: true, passResult: 'incomplete' },
    ordinary: true,
  },
  {
    what: '0:32 2nd and 10 COP 13: pass, touchdown right corner, catch in question',
    starts: { ...down('home', 2, 10, 87), quarter: 2, clockAbout: 30 },
    line: '0:32p r td?',
    facts: {
      kind: 'pass',
      clockSeconds: 32,
      passResult: 'complete',
      playSide: line,
      endSide: line,
      score: 'touchdown',
      endSpot: 100,
      outOfBounds: false,
      catchInQuestion: true,
    },
    ordinary: true,
  },
  {
    what: '0:27 try for two, run, stopped short; end of half',
    starts: { kind: 'try', spot: 97, quarter: 2, clockSeconds: 27, offense: 'home' },
    line: 'run short',
    facts: { tryBy: 'run', score: 'none' },
    ordinary: true,
  },
];
