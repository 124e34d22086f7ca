/** Degrees: north and east are positive. */
interface Coordinates {
  readonly latitude: number;
  readonly longitude: number;
}

const number = String.raw`([+\-−]?\d{1,3}(?:\.\d{1,15})?)\s*°?\s*`;
const written = new RegExp(`^${number}([NS])?\\s*[,;\\s]\\s*${number}([EW])?$`, 'i');

/** Reads `41.62, -93.98` or `41.62° N, 93.98° W`, as maps show and copy them; undefined when it is neither. */
export function coordinatesFrom(text: string): Coordinates | undefined {
  const parts = written.exec(text.trim());
  if (parts === null) return undefined;
  const latitude = degrees(parts[1]!, parts[2], 'S');
  const longitude = degrees(parts[3]!, parts[4], 'W');
  return Math.abs(latitude) <= 90 && Math.abs(longitude) <= 180 ? { latitude, longitude } : undefined;
}

const degrees = (digits: string, letter: string | undefined, negative: 'S' | 'W') => {
  const value = Number(digits.replace('−', '-'));
  return letter?.toUpperCase() === negative ? -Math.abs(value) : value;
};

/** As `coordinatesFrom` reads it. */
export const coordinatesText = ({ latitude, longitude }: Coordinates): string => `${latitude}, ${longitude}`;
