import { stat } from 'node:fs/promises';

export async function exists(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  );
}

export const pause = (milliseconds: number) => new Promise((resolve) => setTimeout(resolve, milliseconds));
