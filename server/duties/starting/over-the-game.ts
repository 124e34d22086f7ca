import { everybody } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const overTheGame: StartingDuty[] = [
  {
    key: 'pre-game',
    title: 'Pre-game',
    expected: 'be at the pre-game on time and prepared, and do the checks of the position before kickoff',
    positions: everybody,
    per: 'game',
    weight: 5,
    guidance:
      'Come with your own questions: new rules, unusual plays of these teams, who has what on kicks. Walk the field for holes, cables and hard objects at the sideline, and have them moved; that is safety, not courtesy. Each does the own check: balls, clocks, chains, benches.',
  },
  {
    key: 'appearance',
    title: 'Appearance',
    expected: 'look like an official: complete, clean uniform and equipment, and a bearing that fits',
    positions: everybody,
    per: 'game',
    weight: 3,
    guidance:
      'Dressed alike and complete from entering the stadium, spare whistle, flag and bean bags in place. Stand still between plays, hands out of pockets. Two teams decide in a minute whether to trust you, and they see you before they hear you.',
  },
  {
    key: 'fitness-and-movement',
    title: 'Fitness and movement',
    expected: 'move well enough to be in place and standing still when the ruling comes, to the last play',
    positions: everybody,
    per: 'game',
    weight: 5,
    guidance:
      'Look at the fourth quarter: do the same steps come as early as in the first? Run to get there, stop to rule. Warm up before kickoff and drink between periods; a pulled muscle leaves a zone without an official and you on the ground in it.',
  },
  {
    key: 'crew-communication',
    title: 'Communication in the crew',
    expected:
      'pass on what partners need before, during and after the play: counts, keys, clock, what was seen',
    positions: everybody,
    per: 'game',
    weight: 5,
    guidance:
      'Eye contact and a sign before each snap; short words, the same ones all game. Say what you saw, not what it must have been. Speak up early when something is wrong: the wrong down is mended before the snap, never after.',
  },
  {
    key: 'game-management',
    title: 'Management of the game',
    expected:
      'keep the game safe, fair and at an even pace: prevent what can be prevented, call what must be called',
    positions: everybody,
    per: 'game',
    weight: 6,
    guidance:
      'Feel when the temperature rises and be nearer, louder and earlier then. A word to a player by number, a word to a captain, then the flag. Same standard for both teams in the first quarter and in the last; players get hurt in games that nobody holds.',
  },
];
