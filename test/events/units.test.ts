import { describe, expect, it } from 'vitest'
import { convert, convertSpread, KEPT, keptOf, UNITS } from '../../services/events/units.ts'

/** A value in the unit its measure is kept in. */
const kept = (value: number, code: string) => keptOf({ value }, code).value.value

describe('Units', () => {
  it('hold 2,000 LBR for 907.18474 kg within 1e-12', () => {
    // Short ton, reference sheet of published values, section 3: computed from 0.45359237 kg a pound.
    expect(Math.abs(kept(2000, 'LBR') - 907.18474)).toBeLessThan(1e-12)
    expect(Math.abs(kept(1, 'STN') - 907.18474)).toBeLessThan(1e-12)
  })

  it.each([
    // UN/CEFACT Recommendation 20 Revision 17e, conversion factors as printed there (rounded).
    [1, 'LBR', 0.45359237, 1e-15],
    [1, 'ONZ', 0.02834952, 5e-9],
    [1, 'LTN', 1016.047, 5e-4],
    [1, 'TNE', 1000, 0],
    [1, 'PS', 6.894757, 5e-7],
    [1, 'BAR', 100, 0],
    [1, 'HUR', 60, 0],
    [1, 'DZN', 12, 0],
    [1, 'GRO', 144, 0],
    [1, 'INH', 25.4, 0],
    [1, 'MWH', 1000, 0],
    [3.6, '3B', 1, 1e-15],
    // Reference sheet, section 3: exact long ton, and °C = (°F − 32)/1.8 to the printed digits.
    [1, 'LTN', 1016.0469088, 1e-12],
    [225, 'FAH', 107.22, 0.005],
    [400, 'FAH', 204.44, 0.005],
    [450, 'FAH', 232.22, 0.005],
    [500, 'FAH', 260, 1e-12],
    [2650, 'FAH', 1454.44, 0.005],
    [2102, 'FAH', 1150, 1e-12],
    [25, 'PSI', 172.37, 0.005],
    [0, 'KEL', -273.15, 0],
    [85, '59', 0.0085, 1e-15],
    [0.42, 'GRM', 0.00042, 1e-15],
  ])('hold %d %s for %d within %d', (value, code, expected, error) => {
    expect(Math.abs(kept(value, code) - expected)).toBeLessThanOrEqual(error)
  })

  it('turn a spread by the factor alone, without the zero point', () => {
    const [fahrenheit, celsius] = [UNITS.get('FAH')!, UNITS.get('CEL')!]
    expect(convertSpread(9, fahrenheit, celsius)).toBe(5)
    expect(convert(41, fahrenheit, celsius)).toBe(5)
  })

  it('come back to themselves through the kept unit', () => {
    for (const [code, unit] of UNITS) {
      const home = UNITS.get(KEPT[unit.measure])!
      for (const value of [0, 1, 12.5, 450, 99_999]) {
        const back = convert(convert(value, unit, home), home, unit)
        expect(Math.abs(back - value), code).toBeLessThanOrEqual(1e-9)
      }
    }
  })
})
