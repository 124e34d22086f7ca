// What vitest's JSON reports say: `failed FILE...` lists the test files that failed, `say FILE...` what failed in them and how.
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [what, ...files] = process.argv.slice(2);
const runs = files.map((file) => JSON.parse(readFileSync(file, 'utf8')));
const failed = runs.flatMap(({ testResults }) => testResults.filter(({ status }) => status === 'failed'));

if (what === 'failed') for (const { name } of failed) console.log(path.relative(process.cwd(), name));
else {
  for (const { name, message, assertionResults } of failed) {
    console.log(`failed: ${path.relative(process.cwd(), name)}`);
    if (message) console.log(message.slice(0, 3000));
    for (const { status, fullName, failureMessages } of assertionResults)
      if (status === 'failed')
        console.log(`  ${fullName}\n${(failureMessages ?? []).join('\n').slice(0, 3000)}`);
  }
  const sum = (key) => runs.reduce((so, run) => so + run[key], 0);
  console.log(
    `${sum('numPassedTests')} passed, ${sum('numFailedTests')} failed, ${sum('numPendingTests') + sum('numTodoTests')} skipped`,
  );
}
