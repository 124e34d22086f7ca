import { connect } from '../../server/database/database.ts';
import { LetterMaker } from '../../server/letters/making.ts';
import { Grader } from '../../server/results/standings/grader.ts';
import { currentStandings } from '../../server/results/standings/season-standings.ts';

// A process that makes letters as the server does, and says so after each: for tests that kill it.
const database = connect(process.argv[2]!);
const grader = new Grader();
const maker = new LetterMaker(
  database.pool,
  (conferenceId, seasonId) => currentStandings(database.pool, grader, conferenceId, seasonId),
  'https://crewmark.example.test/my/marks',
);
while (await maker.makeNext()) process.stdout.write('made\n');
await grader.close();
await database.close();
