import { execFileSync } from 'node:child_process';

/**
 * Runs R with `script` and gives the tables that it writes by `table(name, data frame)`: rows of cells, numbers as
 * numbers. Debian and Ubuntu: apt install r-base-core r-cran-lme4.
 */
export function rTables(script: string): Record<string, unknown[][]> {
  const helpers = `
    table <- function(name, frame) {
      cat("#", name, "\\n", sep = "")
      write.table(format(frame, digits = 17, trim = TRUE), sep = ",", quote = FALSE, row.names = FALSE, col.names = FALSE)
    }
  `;
  let output: string;
  try {
    output = execFileSync('Rscript', ['--vanilla', '-e', helpers + script], {
      encoding: 'utf8',
      maxBuffer: 1 << 28,
    });
  } catch (error) {
    throw new Error('R with package lme4 is needed for this check (apt install r-cran-lme4)', {
      cause: error,
    });
  }
  const tables: Record<string, unknown[][]> = {};
  let current: unknown[][] = [];
  for (const line of output.split('\n')) {
    if (line.startsWith('#')) {
      current = [];
      tables[line.slice(1)] = current;
    } else if (line !== '') {
      current.push(
        line
          .split(',')
          .map((cell) => (cell.trim() === '' || Number.isNaN(Number(cell)) ? cell : Number(cell))),
      );
    }
  }
  return tables;
}
