import { deepWings, everybody, withDeepWings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const sidelineAndDeadBall: StartingDuty[] = [
  {
    key: 'eyes-on-players-out-of-bounds',
    title: 'Eyes on players out of bounds',
    expected: 'keep eyes on the players out of bounds until they have come back',
    positions: everybody,
    who: 'who has the sideline',
    allOf: ['out-of-bounds'],
    weight: 2,
    guidance:
      'Never turn your back on players in a bench area: hold the spot with a foot and turn with them. Stay until the last one is back over the line, three or four seconds. A push among substitutes and coaches grows faster than one on the field.',
  },
  {
    key: 'nearest-others-clean-up',
    title: 'Nearest others help clean up',
    expected: 'close in and help clean up when a play ends out of bounds or in a pile on their side',
    positions: everybody,
    who: 'who comes to help where the ball is dead',
    anyOf: ['out-of-bounds', 'pile'],
    weight: 1,
    guidance:
      'One official has the spot and cannot have the players as well: they are yours. Run the last ten yards, speak before you arrive, and go between the players and the bench. Bring them back first; a partner brings the ball.',
  },
  {
    key: 'wait-before-turning-for-a-ball',
    title: 'Wait before turning for a ball',
    expected: 'wait a moment and watch the players before turning for a ball',
    positions: everybody,
    who: 'who has the sideline',
    allOf: ['out-of-bounds'],
    weight: 1,
    guidance:
      'Count two with your eyes on the players, then put out a hand for the ball without looking away. The ball can wait; on kicks as well as on plays from scrimmage. What happens behind your back cannot be called.',
  },
  {
    key: 'watch-players-after-a-score',
    title: 'Watch players after a score',
    expected: 'turn and watch the players after a touchdown rather than pose with the signal',
    positions: everybody,
    who: 'who rules the touchdown',
    allOf: ['live-ball', 'touchdown'],
    weight: 2,
    guidance:
      'Signal for two seconds, then turn to the players in the end zone and go toward them. Look at the scorer and the last defender together. The shove after the touchdown is the one that starts the trouble.',
  },
  {
    key: 'stop-before-the-players',
    title: 'Stop before reaching the players',
    expected: 'stop before reaching the players, so that all of them stay in view',
    positions: everybody,
    who: 'who has the spot',
    allOf: ['scrimmage-down', 'dead-in-bounds', 'leaves-a-spot'],
    unless: ['long-gain'],
    weight: 1,
    guidance:
      'Three yards short of the pile you see everyone; on top of it you see two backs. Stop with a foot on the yard line and look over the whole of it. Nobody rolls into your legs from there.',
  },
  {
    key: 'get-between-opponents',
    title: 'Get between opponents early',
    expected: 'get to a confrontation early with voice first, and note numbers rather than wrestle',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['confrontation'],
    weight: 3,
    guidance:
      'Voice before hands, and early: most of it ends with a word and a body between. The nearest two separate, the others step back, watch and write down numbers. Do not grab a player from behind; safety of players and crew comes first.',
  },
  {
    key: 'dead-ball-official-away-from-play',
    title: 'Dead-ball officiating away from the play',
    expected: 'watch the players away from the ball until all have turned back',
    positions: deepWings,
    crewSizes: withDeepWings,
    who: 'away from the dead ball',
    allOf: ['scrimmage-down', 'dead-in-side-zone'],
    weight: 1,
    guidance:
      'When the ball ends far from you count the players who have not turned back: those are yours. Walk toward them, not toward the ball. Receivers and their opponents talk longest when they think that nobody is near.',
  },
  {
    key: 'injured-player',
    title: 'Care for the injured player',
    expected: 'stop the clock for an injured player, call for help and keep others away',
    positions: ['referee', 'umpire'],
    allOf: ['injury'],
    weight: 2,
    guidance:
      'Time-out at once, wave in the medical staff, and send both teams to their side. Nobody moves the player, and nothing else is urgent. Signs of a head injury: the player leaves, and comes back only as the rules and the medical staff allow. Note number and time.',
    cites: 'time-out',
  },
];
