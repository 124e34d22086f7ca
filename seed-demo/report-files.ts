import { consequences } from '../server/duties/consequence.ts';
import { findings } from '../server/duties/finding.ts';
import { positions } from '../server/football/positions.ts';
import { email, integer, line, oneOf, text } from '../server/imports/csv/cells.ts';
import { fileFormat, optional, required } from '../server/imports/csv/format.ts';

const reportStates = ['draft', 'filed', 'returned', 'accepted', 'released'] as const;

/** The demo's reports: one line each. Their observations are in `observations.csv`. */
export const reportsFormat = fileFormat({
  name: 'reports',
  purpose: 'Observer reports of the demo season, one line each.',
  columns: {
    game: required('game', line(100), 'Write the game as in schedule.csv.'),
    email: required('observer', email, 'Write the e-mail address of an observer in staff.csv.'),
    state: required('state', oneOf(reportStates), `Write one of: ${reportStates.join(', ')}.`),
    returnedReason: optional('returned because', text(2000), 'Write why the report was returned.'),
    generalComment: optional('general comment', text(4000), 'Write up to 4000 characters.'),
    notWatched: optional('not watched', line(200), 'Write plays and positions, such as 1-14: everybody.'),
  },
  key: ['game', 'email'],
});

export const observationsFormat = fileFormat({
  name: 'observations',
  purpose: 'Observations of the demo season: exceptions only, one line each.',
  columns: {
    game: required('game', line(100), 'Write the game as in schedule.csv.'),
    email: required('observer', email, 'Write the e-mail address of the observer.'),
    play: required('play', integer(1, 9999), 'Write the number of the play in the play log.'),
    position: required('position', oneOf(positions), `Write one of: ${positions.join(', ')}.`),
    duty: required('duty', line(100), 'Write the key of a duty in the rubric.'),
    finding: required('finding', oneOf(findings), `Write one of: ${findings.join(', ')}.`),
    consequence: optional(
      'what it cost',
      oneOf(consequences),
      `Write one of: ${consequences.join(', ')}; nothing where it was not judged.`,
    ),
    comment: optional('comment', text(4000), 'Write up to 4000 characters.'),
  },
  key: ['game', 'email', 'play', 'position', 'duty'],
});
