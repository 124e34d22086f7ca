import { describe, expect, it } from 'vitest';
import { nothingElseHappened } from '../../server/football/nothing-unusual.ts';
import { type Play, playKinds, playSchema } from '../../server/football/play.ts';
import { downInWords, playInWords, resultInWords } from '../../server/football/play-in-words.ts';

const pass: Play = { kind: 'pass', spot: 40, down: 2, distance: 7 };

describe('a play in words', () => {
  it('says goal where the line to gain is the goal line', () => {
    expect(downInWords({ ...pass, spot: 97, down: 1, distance: 3 })).toBe("1st and goal at opponent's 3");
    expect(playInWords({ ...pass, spot: 92, distance: 8, quarter: 4, clockSeconds: 65 })).toBe(
      "Q4 1:05, 2nd and goal at opponent's 8: pass",
    );
    expect(downInWords({ ...pass, spot: 92 })).toBe("2nd and 7 at opponent's 8");
  });

  it('says what a snap was for', () => {
    expect(playInWords({ ...pass, kind: 'run', snapFor: 'kneel' })).toBe('2nd and 7 at own 40: kneel-down');
    expect(playInWords({ ...pass, snapFor: 'spike' })).toBe('2nd and 7 at own 40: spike');
    expect(resultInWords({ ...pass, snapFor: 'spike', passResult: 'incomplete' })).toBe('');
  });

  it('says who ruled where the ruling mattered, and that a flag was picked up', () => {
    const score: Play = { ...pass, passResult: 'complete', score: 'touchdown', ruledBy: 'back judge' };
    expect(resultInWords(score)).toBe('complete, touchdown, ruled by the back judge');
    expect(resultInWords({ ...pass, passResult: 'complete', ruledBy: 'umpire' })).toBe('complete');
    const fouls: Play['fouls'] = [
      { foul: 'holding', by: 'offense', outcome: 'picked up' },
      { foul: 'offside', by: 'defense' },
    ];
    expect(resultInWords({ ...pass, passResult: 'incomplete', fouls })).toBe(
      'incomplete, flag for holding picked up, offside',
    );
  });
});

describe('nothing else happened', () => {
  it.each(playKinds)('notes only what can happen on a %s, and leaves what was logged', (kind) => {
    const play: Play = { kind, spot: 40, score: 'touchdown', fouls: [{ foul: 'offside', by: 'defense' }] };
    const noted = nothingElseHappened(play);
    expect(playSchema.parse(noted)).toEqual(noted);
    expect(noted).toMatchObject(play);
    expect(noted.replay).toBe('none');
    expect('motion' in noted).toBe(kind !== 'free kick');
    expect('firstTouching' in noted).toBe(['free kick', 'punt', 'place kick'].includes(kind));
    expect('catchInQuestion' in noted).toBe(['pass', 'try'].includes(kind));
    expect('looseBall' in noted).toBe(kind !== 'no snap');
  });
});
