import { startEmbeddedPostgres } from '../../server/database/embedded.ts';
import setup, { folderInRun } from './test-run.ts';

// A run of tests with a database, to be killed without warning.
await setup();
await startEmbeddedPostgres(await folderInRun('killed'));
process.send?.(process.env.CREWMARK_TEST_RUN);
setInterval(() => {}, 1000);
