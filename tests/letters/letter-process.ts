import { connect } from '../../server/database/database.ts';
import { LetterMaker } from '../../server/letters/letter-maker.ts';
import { LetterWriter } from '../../server/letters/letter-writer.ts';
import { Calculator } from '../../server/results/calculator.ts';
import { seasonResults } from '../../server/results/season-results.ts';

// A process that makes letters as the server does, and says so after each: for tests that kill it.
const database = connect(process.argv[2]!);
const calculator = new Calculator();
const writer = new LetterWriter();
const maker = new LetterMaker(
  database,
  seasonResults(database.pool, calculator),
  'https://crewmark.example.test/my/marks',
  writer,
);
while (await maker.makeNext()) process.stdout.write('made\n');
await writer.close();
await calculator.close();
await database.close();
