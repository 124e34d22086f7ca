import { everybody, wings } from './crew-groups.ts';
import type { StartingDuty } from './starting-duty.ts';

export const foulsAndAdministration: StartingDuty[] = [
  {
    key: 'report-the-foul',
    title: 'Report the foul calmly',
    expected:
      'have the flag down and report to the referee calmly, by radio where one is used rather than by signal',
    positions: everybody,
    who: 'who reports the foul',
    allOf: ['foul-called'],
    weight: 2,
    guidance:
      'Flag to the spot when the spot matters, in the air when it does not; keep officiating until the play is over. Then walk, breathe, and say it once: foul, team, number, live or dead ball, where it ends. Stay within five yards until the referee has it right.',
  },
  {
    key: 'announce-every-foul',
    title: 'Announce every foul in order',
    expected: 'announce all fouls in order, each with team and yardage, and the next down',
    positions: ['referee'],
    allOf: ['foul-called'],
    weight: 2,
    guidance:
      'Stand still, clear of players, face the press box side, and speak slower than feels right. Order in time: foul, team, number where the code has it, yards, down. A flag that was picked up is announced too. Everybody should be able to say where the ball goes next.',
  },
  {
    key: 'enforcement-spot-and-down',
    title: 'Agree on spot and down',
    expected: 'agree on the enforcement spot and the number of the next down before the ball moves',
    positions: ['referee', 'umpire'],
    allOf: ['penalty-enforced'],
    weight: 2,
    guidance:
      'Say to each other: what kind of play, where it ended, where the foul was, so from where and how far. Then the down, and what the box shows. Ten seconds here; a wrong down found three plays later cannot be mended.',
    cites: 'penalty enforcement',
  },
  {
    key: 'offsetting-signal',
    title: 'Show offsetting fouls',
    expected: 'show offsetting fouls with signal 10',
    positions: ['referee'],
    allOf: ['fouls-offset'],
    weight: 1,
    guidance:
      'Announce each foul with its team, then one clear signal: nobody gains a yard. Say that the down is repeated, and have the wings tell the benches. With three fouls say which two offset and what is left.',
    cites: 'offsetting fouls',
  },
  {
    key: 'declined-signal',
    title: 'Show a declined penalty',
    expected: 'announce a declined penalty with signal 10 and the next down',
    positions: ['referee'],
    allOf: ['penalty-declined'],
    weight: 1,
    guidance:
      'Foul and team first, then declined, then the result of the play and the down. Look at the box before you say the number. The benches plan by it, and so does the one with the play clock.',
    cites: 'choice of penalty',
  },
  {
    key: 'confirm-the-choice',
    title: 'Confirm the choice',
    expected: "confirm the captain's or coach's choice, even when it is obvious",
    positions: ['referee'],
    allOf: ['foul-stands'],
    unless: ['fouls-offset'],
    weight: 1,
    guidance:
      'The choice is theirs, not ours. One sentence to the captain, or through the wing to the coach: what you get if you take it, what if not. Look for the answer before you walk; it saves a bad minute.',
    cites: 'choice of penalty',
  },
  {
    key: 'relay-the-choice',
    title: 'Carry the choice to and from the bench',
    expected: 'tell the coach on their side the foul and the number, and bring the choice back',
    positions: wings,
    allOf: ['foul-stands'],
    weight: 1,
    guidance:
      'Number, foul, effect, in that order, before the question comes. Stay on your yard line if you hold a spot and speak from there. Listen, do not debate, and show the answer to the referee where it can be seen.',
  },
  {
    key: 'walk-off-the-penalty',
    title: 'Walk off the penalty',
    expected:
      'walk off the penalty from the right spot to the right yard line, with another official checking it',
    positions: ['umpire'],
    allOf: ['penalty-enforced'],
    weight: 2,
    guidance:
      'Say the spot, the yards and the end out loud before you walk, then walk by the yard lines, not by steps. Near the goal line it is half the distance. A wing walks along the sideline and stops where you should; when you differ, look again.',
    cites: 'penalty enforcement',
  },
  {
    key: 'hold-the-enforcement-spot',
    title: 'Hold the enforcement spot',
    expected: 'hold the spot that the penalty is measured from until the ball is down',
    positions: wings,
    allOf: ['penalty-enforced'],
    weight: 1,
    guidance:
      'One wing stays with a foot on the spot it is measured from, the other walks it off along the sideline. Stay until the ball is down and the down is announced. Then the mark is never lost, whatever is decided.',
  },
  {
    key: 'shut-down-before-the-snap',
    title: 'Shut it down before the snap',
    expected: 'stop the play at once with whistle and body when a foul comes before the snap',
    positions: ['umpire', 'center judge', ...wings],
    allOf: ['stopped-before-the-snap', 'foul-called'],
    weight: 2,
    guidance:
      'Loud and at once, again and again, moving in with the hands up. Get to the players before the hit, not to the flag. A late whistle here lets players be hit who are not ready for it.',
    cites: 'offside and false start',
  },
  {
    key: 'helmet-off',
    title: 'Helmet off with no foul',
    expected:
      "take an official's time-out, have the play clock set to 25 (to 40 when the player is on defense), start the clock on the ready, and send the player out for a down",
    positions: ['referee'],
    allOf: ['helmet-off'],
    weight: 2,
    guidance:
      'No helmet, no play: the ball is dead, or the player leaves the play. Note the number, tell the wing on that side, and see that the player sits out the next down. It is a matter of safety, so there is nothing to talk over.',
    cites: 'helmet off',
    byCode: {
      'high school': {
        expected:
          "take an official's time-out, have the play clock set to 25, start both clocks on the ready, and send the player out for a down",
      },
    },
  },
  {
    key: 'helmet-off-watch',
    title: 'See the helmet come off',
    expected: 'see whose helmet came off and tell the referee whether a foul by an opponent took it off',
    positions: everybody,
    who: 'in whose zone the ball is dead',
    allOf: ['helmet-off'],
    weight: 1,
    guidance:
      'Number, team, and why it came off: those three to the referee. When the runner has lost the helmet whistle at once. Keep the others away from a bare head until the player has left.',
    cites: 'helmet off',
  },
  {
    key: 'play-clock-to-twenty-five',
    title: 'Have the play clock set to 25',
    expected: 'have the play clock set to 25 seconds and give the ready',
    positions: ['referee'],
    allOf: ['play-clock-on-the-ready'],
    weight: 1,
    guidance:
      'Signal it to the operator, look at the display, then give the ready. See that the umpire is off the ball and the wings are on their line first. Never wind with a wrong number up there.',
    cites: 'play clock',
  },
  {
    key: 'report-the-time-out',
    title: 'Administer the time-out',
    expected: 'report who took the time-out and how many are left, to both benches',
    positions: ['referee', ...wings],
    allOf: ['team-time-out'],
    weight: 1,
    guidance:
      'Write it down with the time on the clock, confirm the number left with a partner, then tell your coach. Stay where you see your bench and the ball. Come back ten seconds early so that both teams are ready.',
    cites: 'time-out',
  },
];
