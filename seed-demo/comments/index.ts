import type { Duty, DutyCategory } from '../../server/duties/duty.ts';
import type { Play } from '../../server/football/play.ts';
import type { Position } from '../../server/football/positions.ts';
import { calls, remarksOnAWrongFlag, rightFlags } from './calls.ts';
import { mechanicsAroundThePlay } from './mechanics-around-the-play.ts';
import { mechanicsOnTheField } from './mechanics-on-the-field.ts';

/** The duty to call only what was a foul: what is not met there is a flag that should have stayed down. */
export const dutyOfTheFlag = 'call-the-fouls-reported';

type Named = Pick<Duty, 'key' | 'category'>;

/** Remarks of a duty's own; empty for a duty that the table does not know. */
export function ownRemarks({ key }: Pick<Duty, 'key'>): readonly string[] {
  if (key === dutyOfTheFlag) return remarksOnAWrongFlag('holding');
  return mechanicsOnTheField[key] ?? mechanicsAroundThePlay[key] ?? calls[key]?.notMet ?? [];
}

/** What may be written beside a duty that this official did not meet on this play. */
export function remarksOn(duty: Named, position: Position, play: Play): readonly string[] {
  if (duty.key === dutyOfTheFlag)
    return remarksOnAWrongFlag(play.fouls?.find(({ reportedBy }) => reportedBy === position)?.foul ?? '');
  const own = ownRemarks(duty);
  return own.length > 0 ? own : ['Not as the manual has it.'];
}

/** What may be written beside a right call or no-call. */
export function rightRemarks(duty: Pick<Duty, 'key'>): readonly string[] {
  return duty.key === dutyOfTheFlag ? rightFlags : (calls[duty.key]?.right ?? ['Right on film.']);
}

const worthShowing: Partial<Record<DutyCategory, readonly string[]>> = {
  'before the snap': ['Counted, keyed and still before the snap.', 'Says who has whom, every down. Show it.'],
  spotting: ['Square, at pace, and the foot stays. Textbook.', 'Spot held until the ball was down; show it.'],
  'ending the play': ['Whistle, arm, voice: all there.', 'Everybody knew that it was over.'],
  'goal line': ['On the line before the ball was.', 'Ruled from where one has to be. Worth showing.'],
  passes: ['Patient at the place where it mattered.', 'Eyes where they belong, all the way.'],
  'runs and backfield': [
    'Eyes off the ball, on the blocks. Worth showing.',
    'Gave room and kept it all in front.',
  ],
  kicks: ['In place before the ball came down.', 'Ready for everything that a kick can do.'],
  'sideline and dead ball': ['Eyes never left the players.', 'Preventive, early, calm.'],
  'loose ball': ['Bag down at once, then to the ball. Show it.', 'Found possession without a rush.'],
  'fouls and administration': ['Short, complete, calm report.', 'Administration as in the manual.'],
  conduct: ['Low voice, short answer, back to work.', 'Kept the bench with him.'],
  'over the game': [
    'Same steps in the last quarter as in the first.',
    'Had the game in hand from the start.',
  ],
};

/** What may be written beside something done so well that it is worth showing. */
export function modelRemarks(duty: Pick<Duty, 'category'>): readonly string[] {
  return worthShowing[duty.category] ?? ['Exactly how we teach it.'];
}

export const notSeenRemarks: readonly string[] = [
  'Players in the way from here.',
  'Was watching the other side.',
  'Out of my view.',
  '',
];

export const generalRemarks: readonly string[] = [
  'A clean game with a good pace. The crew talked to each other all night.',
  'Windy and loud; administration stayed tidy.',
  'Second half better than the first, above all at the sidelines.',
  'Close calls were handled calmly.',
  'High temper, steady crew.',
  '',
];
