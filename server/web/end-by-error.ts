import { errorForLog } from './error-for-log.ts';

/**
 * Ends the process by an error that nobody caught, a promise's too, with a line that says what kind it is and where it
 * was thrown. Node would print all that it carries, which may be what somebody wrote.
 */
export function endByUncaughtErrors(): void {
  process.on('uncaughtException', (error) => {
    process.stderr.write(
      `${JSON.stringify({ level: 60, err: errorForLog(error), msg: 'ended by an error' })}\n`,
    );
    process.exit(1);
  });
}
