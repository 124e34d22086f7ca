import { publicAddress } from '../mail/mailer.ts';
import { moment } from '../web/format.ts';
import { runOnDatabase, whoIsMeant } from './from-outside.ts';
import { makeLinkFromOutside } from './link-from-outside.ts';

// npm run reset-password -- --email ADDRESS [--conference SHORT-NAME]
// Prints a link to choose a new password, for a coordinator whom nobody else can let in. Works beside a running server.

const usage = 'Write: npm run reset-password -- --email ADDRESS [--conference SHORT-NAME]';

runOnDatabase('No link could be made', async (pool, config) => {
  const made = await makeLinkFromOutside(pool, whoIsMeant(process.argv.slice(2), usage));
  const page = made.purpose === 'reset' ? 'new-password' : 'invitation';
  return `${made.name}, ${made.conference}: choose a new password until ${moment(made.expiresAt, made.timeZone)} at\n${publicAddress(config)}/${page}/${made.token}`;
});
