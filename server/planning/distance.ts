import geodesic from 'geographiclib-geodesic';

/** Decimal degrees on WGS 84, north and east positive. */
export interface Place {
  readonly latitude: number;
  readonly longitude: number;
}

/** The international mile, 1609.344 m exactly (NIST Special Publication 811, appendix B). */
const metresPerMile = 1609.344;

/**
 * Shortest distance over the WGS 84 ellipsoid in metres, by Karney's method (Journal of Geodesy 87, 2013).
 * It is the way the crow flies: a road is longer, usually by a fifth to a third.
 */
export function metresBetween(from: Place, to: Place): number {
  const line = geodesic.Geodesic.WGS84.Inverse(from.latitude, from.longitude, to.latitude, to.longitude);
  return line.s12 ?? 0;
}

export function milesBetween(from: Place, to: Place): number {
  return metresBetween(from, to) / metresPerMile;
}

export function kilometresFromMiles(miles: number): number {
  return (miles * metresPerMile) / 1000;
}

/** "231 mi (372 km)": whole numbers, since the way the crow flies promises no more. */
export function distanceInWords(miles: number): string {
  return `${Math.round(miles)} mi (${Math.round(kilometresFromMiles(miles))} km)`;
}
