import { execFileSync } from 'node:child_process';

/**
 * The numbers that R prints, in order.
 *
 * @throws where R is not there, saying how to install it: an outside check that is left out looks like one that held.
 */
export function numbersFromR(code: string): number[] {
  let output: string;
  try {
    output = execFileSync('Rscript', ['--vanilla', '-'], {
      encoding: 'utf8',
      input: code,
      maxBuffer: 1 << 28,
    });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    throw new Error(
      'This check runs R (apt install r-base-core r-cran-lme4 r-cran-psych r-cran-erm). npm run test:quick leaves out what needs it.',
      { cause: error },
    );
  }
  return output.trim().split(/\s+/).map(Number);
}
