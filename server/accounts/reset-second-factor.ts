import { StartupError } from '../database/startup-error.ts';
import { inTransaction } from '../database/transaction.ts';
import { findFromOutside, runOnDatabase, whoIsMeant } from './from-outside.ts';
import { resetSecondFactorFromOutside } from './second-factor/second-factor-store.ts';

// npm run reset-second-factor -- --email ADDRESS [--conference SHORT-NAME]
// Takes away a second factor that was lost with its recovery codes, for a coordinator whom nobody else can help.

const usage = 'Write: npm run reset-second-factor -- --email ADDRESS [--conference SHORT-NAME]';

runOnDatabase('The second factor was not reset', async (pool) => {
  const asked = whoIsMeant(process.argv.slice(2), usage);
  return inTransaction(pool, async (client) => {
    const person = await findFromOutside(client, asked);
    if (!(await resetSecondFactorFromOutside(client, person)))
      throw new StartupError(`${person.name} has no second factor.`);
    return `${person.name}, ${person.conference}: the second factor is gone, and they are signed out everywhere. The password alone lets them in; a new second factor is set up on their account page.`;
  });
});
