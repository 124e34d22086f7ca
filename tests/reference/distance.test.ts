import { describe, expect, it } from 'vitest';
import {
  distanceInWords,
  kilometresFromMiles,
  metresBetween,
  milesBetween,
} from '../../server/planning/distance.ts';

describe('distance', () => {
  it('equals the worked example in the GeographicLib documentation: Wellington to Salamanca, 19959679.267 m', () => {
    const metres = metresBetween(
      { latitude: -41.32, longitude: 174.81 },
      { latitude: 40.96, longitude: -5.5 },
    );
    expect(metres).toBeCloseTo(19959679.267, 3);
  });

  // PROJ 9.1.1: geod -I +ellps=WGS84 -f %.3f
  it.each([
    [40.639722, -73.778889, 51.4775, -0.461389, 5554344.276],
    [33.748995, -84.387982, 41.878114, -87.629798, 946149.803],
    [39.7392, -104.9903, 33.4484, -112.074, 942268.128],
  ])('equals PROJ: %f %f to %f %f', (lat1, lon1, lat2, lon2, metres) => {
    const from = { latitude: lat1, longitude: lon1 };
    const to = { latitude: lat2, longitude: lon2 };
    expect(metresBetween(from, to)).toBeCloseTo(metres, 3);
    expect(metresBetween(to, from)).toBeCloseTo(metres, 3);
  });

  it('uses the international mile (NIST SP 811, appendix B: 1 mi = 1609.344 m)', () => {
    const place = { latitude: 33.748995, longitude: -84.387982 };
    expect(milesBetween(place, { latitude: 41.878114, longitude: -87.629798 })).toBeCloseTo(
      946149.803 / 1609.344,
      6,
    );
    expect(kilometresFromMiles(100)).toBeCloseTo(160.9344, 10);
    expect(distanceInWords(231.2)).toBe('231 mi (372 km)');
    expect(milesBetween(place, place)).toBe(0);
  });
});
