import { describe, expect, it } from 'vitest';
import {
  dutyOfTheFlag,
  modelRemarks,
  ownRemarks,
  remarksOn,
  rightRemarks,
} from '../../seed-demo/comments/index.ts';
import { startingRubric } from '../../server/duties/starting-rubric.ts';
import type { Play } from '../../server/football/play.ts';

describe('what observers of the demo write', () => {
  it('speaks of the duty: three remarks or more of its own, shared with no other', () => {
    const owner = new Map<string, string>();
    for (const duty of startingRubric.filter(({ key }) => key !== dutyOfTheFlag)) {
      const own = ownRemarks(duty);
      expect(own.length, duty.key).toBeGreaterThanOrEqual(3);
      for (const remark of own) {
        expect(owner.get(remark) ?? duty.key, `"${remark}"`).toBe(duty.key);
        owner.set(remark, duty.key);
      }
    }
  });

  it('has words for a right call of every call, and for what is worth showing in every category', () => {
    for (const duty of startingRubric) {
      if (duty.gradedAs === 'call') expect(rightRemarks(duty).length, duty.key).toBeGreaterThanOrEqual(2);
      else expect(modelRemarks(duty).length, duty.category).toBeGreaterThanOrEqual(2);
    }
  });

  it('says of a wrong flag what fits the foul that this official reported', () => {
    const play: Play = {
      kind: 'run',
      spot: 40,
      fouls: [
        { foul: 'holding', by: 'offense', reportedBy: 'umpire' },
        { foul: 'false start', by: 'offense', reportedBy: 'line judge' },
      ],
    };
    const duty = { key: dutyOfTheFlag, category: 'calls' } as const;
    expect(remarksOn(duty, 'umpire', play).join()).toContain('legal block');
    expect(remarksOn(duty, 'line judge', play).join()).toContain('set on film');
  });
});
