import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { undecidedCount } from '../../../server/duties/fact-worth.ts';
import { compileRubric, fullCrew } from '../../../server/duties/opportunities.ts';
import { startingRubric } from '../../../server/duties/starting-rubric.ts';
import { contradictionsIn } from '../../../server/football/contradictions/index.ts';
import { positionsOf } from '../../../server/football/crews.ts';
import { impliedFacts } from '../../../server/football/implied-facts.ts';
import { type Fact, type Play, playKinds, playSchema } from '../../../server/football/play.ts';
import { readWords, type SaidContext, wordsFor } from '../../../server/football/said/index.ts';
import { vocabulary } from '../../../server/football/said/vocabulary.ts';
import { anyPlay } from '../../support/arbitrary-football.ts';
import { script } from './script.ts';

const context: SaidContext = {
  code: 'college',
  teams: { home: ['LAR', 'Larkmoor'], visitor: ['COP', 'Coppermesa'] },
  crew: positionsOf(8),
};
const down: Play = {
  kind: 'run',
  spot: 30,
  quarter: 1,
  clockAbout: 700,
  down: 2,
  distance: 7,
  offense: 'home',
};
const said = (line: string, play: Play = down) => readWords(line, play, context);

/** What the line added to the play, without what the rules imply of it. */
function added(line: string, starts: Play): Partial<Play> {
  const { play } = said(line, starts);
  const changed = Object.entries(play).filter(
    ([fact, value]) => JSON.stringify(starts[fact as Fact]) !== JSON.stringify(value),
  );
  return Object.fromEntries(changed);
}

/** Seconds by the keystroke-level model: Card, Moran and Newell, CACM 23(7), 1980; 0.28 s a key and 1.35 s a decision, from memory. */
const seconds = (keys: number, decisions: number) => keys * 0.28 + decisions * 1.35;

describe('the twenty-five plays', () => {
  it.each(script.map((play, at) => [at + 1, play] as const))('%i is said in a line', (_number, play) => {
    const { chips, open } = said(play.line, play.starts);
    expect(open).toEqual([]);
    const found = added(play.line, play.starts);
    expect(found).toMatchObject(play.facts);
    // What was neither said nor written down here follows from what was.
    const implied = impliedFacts({ ...play.starts, ...play.facts }, 'college');
    for (const fact of Object.keys(found) as Fact[])
      if (!(fact in play.facts)) expect([fact, found[fact]]).toEqual([fact, implied[fact]]);
    const inChips = new Set(chips.flatMap(({ facts }) => Object.keys(facts)));
    for (const fact of Object.keys(play.facts)) expect(inChips).toContain(fact);
    expect(contradictionsIn([{ number: 1, play: said(play.line, play.starts).play }], context.crew)).toEqual(
      [],
    );
  });

  it('cost about twelve keys where they are ordinary, and less than twenty seconds each', () => {
    const keys = script.map(({ line, ordinary }) => ({ keys: line.length + 1, ordinary }));
    const sorted = keys.map((one) => one.keys).sort((a, b) => a - b);
    const median = sorted[Math.floor(sorted.length / 2)]!;
    console.log(`keys a play, Enter included: ${keys.map((one) => one.keys).join(' ')}; median ${median}`);
    for (const one of keys) {
      if (one.ordinary) expect(one.keys).toBeLessThanOrEqual(14);
      expect(seconds(one.keys, 1)).toBeLessThan(20);
    }
    expect(keys.filter(({ ordinary }) => ordinary).length).toBeGreaterThanOrEqual(11);
    expect(median).toBeLessThanOrEqual(12);
  });

  it('leave little undecided once nothing else happened', () => {
    const rubric = compileRubric(startingRubric);
    for (const { line, starts, ordinary } of script) {
      if (!ordinary) continue;
      const bare = undecidedCount(starts, fullCrew(8), rubric);
      const left = undecidedCount(said(`${line}.`, starts).play, fullCrew(8), rubric);
      expect(left, line).toBeLessThan(bare / 3);
    }
  });
});

describe('a line of words', () => {
  it('never fails, covers the whole line, and gives a play', () => {
    const piece = fc.oneof(
      fc.constantFrom(...vocabulary.flatMap(({ words }) => words)),
      fc.constantFrom('lar', 'cop', '27', '-3', '0:41', '.', '?', '@', '#', '2 & 7', 'q3', '4th', 'u', 'L'),
      fc.string({ maxLength: 8 }),
      fc.nat(2000).map(String),
    );
    const anyLine = fc.array(piece, { maxLength: 8 }).map((pieces) => pieces.join(' '));
    fc.assert(
      fc.property(anyLine, anyPlay, fc.boolean(), (line, proposed, knowsTeams) => {
        const { play, chips, open } = readWords(
          line,
          proposed,
          knowsTeams ? context : { ...context, teams: { home: [], visitor: [] } },
        );
        playSchema.parse(play);
        const covered = [...chips, ...open].sort((a, b) => a.from - b.from);
        let at = 0;
        for (const { from, to, text } of covered) {
          expect(line.slice(at, from).trim()).toBe('');
          expect(text).toBe(line.slice(from, to));
          expect(to).toBeGreaterThan(from);
          at = to;
        }
        expect(line.slice(at).trim()).toBe('');
      }),
      { numRuns: 800 },
    );
  });

  it('means the same in any order, and written out or by its beginnings', () => {
    const same = (lines: string[], play: Play = down) => {
      const [first, ...others] = lines.map((line) => said(line, play).play);
      for (const [at, other] of others.entries()) expect(other, lines[at + 1]).toEqual(first);
    };
    same(['run left 3', '3 left run', 'left 3', 'l3', 'l 3', 'LEFT 3', 'le 3 ru', '3 yards to the left']);
    same(['pass right 12 out', 'out right 12 pass', 'p r12 o', '12 out of bounds pass right']);
    const punt: Play = { ...down, kind: 'punt', down: 4 };
    same(['punt 41 fair catch', 'fair catch 41', 'fc 41', '41 fair', '41 fair c'], punt);
    same(['hold off 10 accepted', 'holding offense accepted', 'acc hold', 'accepted hold off 10']);
    same(['int 38', 'intercepted at 38', 'intercepted at lar 38', 'int lar 38', 'int 38 lar', 'int own 38']);
  });

  it.each<[string, Partial<Play>]>([
    ['own 35', { endSpot: 35 }],
    ['to lar 35', { endSpot: 35 }],
    ['35 cop', { endSpot: 65 }],
    ["opponent's 20", { endSpot: 80 }],
    ['at 50', { endSpot: 50 }],
    ['from cop 40', { spot: 60 }],
    ['3rd and 4 at lar 33', { down: 3, distance: 4, spot: 33 }],
    ['3 & 4', { down: 3, distance: 4 }],
    ['1st goal from cop 6', { down: 1, distance: 6, spot: 94 }],
    ['q2 14:20', { quarter: 2, clockSeconds: 860 }],
    ['loss 4', { endSpot: 26 }],
    ['-4', { endSpot: 26 }],
    ['no gain', { endSpot: 30 }],
    ['kneel', { kind: 'run', snapFor: 'kneel', carrier: 'quarterback', endSpot: 29 }],
    ['scramble l 6', { kind: 'pass', passResult: 'scramble', endSpot: 36 }],
    ['caught 3 r 9', { kind: 'pass', passResult: 'complete', catchDepth: 3, endSpot: 39 }],
    ['p r 3 9', { kind: 'pass', passResult: 'complete', catchDepth: 3, endSpot: 39 }],
    ['l 8 dead m', { playSide: 'head linesman side', endSide: 'middle' }],
    ['motion right l 2', { motion: 'line judge side', playSide: 'head linesman side' }],
    [
      'l 5 fumble lost rec 33',
      { looseBall: 'fumble', recoveredBy: 'defense', turnover: 'fumble', looseBallSpot: 35, endSpot: 33 },
    ],
    ['ti def', { timeout: 'team', timeoutBy: 'defense' }],
    ['whistle h', { endedBy: 'head linesman' }],
    [
      'hold u #72 dec',
      {
        fouls: [{ foul: 'holding', by: 'offense', reportedBy: 'umpire', player: '72', outcome: 'declined' }],
      },
    ],
    ['flag leaping acc', { fouls: [{ foul: 'leaping', by: 'defense', outcome: 'accepted' }] }],
    [
      'false start acc',
      { kind: 'no snap', fouls: [{ foul: 'false start', by: 'offense', outcome: 'accepted' }] },
    ],
    ['hold at 28 acc', { fouls: [{ foul: 'holding', by: 'offense', outcome: 'accepted', spot: 28 }] }],
    ['td', { score: 'touchdown', endSpot: 100 }],
    ['safety', { score: 'safety', endSpot: 0 }],
    ['fg no good', { kind: 'place kick', kickResult: 'no good', score: 'none' }],
    ['int 45 td', { passResult: 'intercepted', score: 'touchdown', endSpot: 0 }],
    ['measured', { measured: true, lineToGainInQuestion: true }],
  ])('%s', (line, facts) => {
    expect(said(line).open).toEqual([]);
    expect(said(line).play).toMatchObject(facts);
  });

  it('takes right for the other side once the offense goes the other way', () => {
    const turned = readWords('run left 3', down, { ...context, left: 'line judge side' });
    expect(turned.play.playSide).toBe('line judge side');
  });

  it('says in full what it took, by the names of the teams', () => {
    expect(said('p r 12 out').chips.map(({ text, says }) => [text, says])).toEqual([
      ['p', 'pass'],
      ['r', 'to the line judge’s side, dead there'],
      ['12', 'gain of 12, dead at LAR 42'],
      ['out', 'out of bounds'],
    ]);
  });

  it('offers the nearest words for what it does not know, and leaves the rest understood', () => {
    const { open, play } = said('run lfet 3 fumbel');
    expect(open.map(({ text }) => text)).toEqual(['lfet', 'fumbel']);
    expect(open[0]!.nearest).toContain('left');
    expect(open[1]!.nearest).toContain('fumble');
    expect(play.endSpot).toBe(33);
    expect(said('late').open[0]!.nearest).toContain('late hit');
  });

  it('leaves open what no play can have been, and says nothing of it', () => {
    const proposed: Play = { kind: 'run', spot: 40, down: 2, distance: 7, offense: 'home' };
    const leftOpen = (line: string) => {
      const { play, open } = readWords(line, proposed, context);
      return [open.map(({ text }) => text), play.endSpot, play.looseBall];
    };
    expect(leftOpen('run 3.5')).toEqual([['.', '5'], 43, undefined]);
    expect(leftOpen('run 3 .')).toEqual([[], 43, 'none']);
    expect(leftOpen('run 5 10')).toEqual([['10'], 45, undefined]);
    expect(leftOpen('run 80')).toEqual([['80'], undefined, undefined]);
    expect(leftOpen('sack -60')).toEqual([['-60'], undefined, undefined]);
    expect(leftOpen(`run to ${context.teams.home[0]} 60`)).toEqual([['60'], undefined, undefined]);
    expect(leftOpen('quarter 13')).toEqual([['13'], undefined, undefined]);
    expect(leftOpen('punt 200')).toEqual([['200'], undefined, undefined]);
  });

  it('suggests words by their beginnings', () => {
    expect(wordsFor('fum', context)).toEqual(['fumble']);
    expect(wordsFor('', context)).toEqual([]);
    expect(wordsFor('lark', context)).toEqual(['Larkmoor']);
    for (const kind of playKinds) expect(wordsFor('r', context, kind)).toContain('right');
  });

  it('understands each of its words written out', () => {
    for (const { words, only } of vocabulary) {
      const kind = only?.[0] ?? 'run';
      for (const word of words) {
        const { open } = said(word, { ...down, kind });
        // These say nothing alone: which side of the field, or when a foul was.
        if (
          [
            "opponent's",
            'opponent',
            'opp',
            'their',
            'own',
            'live ball',
            'live',
            'dead ball',
            'offense',
            'off',
            'defense',
            'def',
          ].includes(word)
        )
          continue;
        expect(open, word).toEqual([]);
      }
    }
  });
});
