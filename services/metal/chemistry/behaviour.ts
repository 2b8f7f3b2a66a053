// What becomes of an element in hot iron. What stays follows the metal and can be worked out from lots;
// what leaves is never taken as merely diluted; what also arrives from elsewhere is not blamed on lots.
import type { Worth } from '../ledger.ts'

export interface Behaviour {
  sort: 'stays' | 'leaves' | 'arrives'
  /** Part of what was charged that is still in the metal when it is poured. */
  kept: Worth
  /** One sentence for who reads the answer. */
  sentence: string
}

// Common practice, no source: slag takes iron with it, so what stays becomes a little more of the rest.
const STAYS: Behaviour = {
  sort: 'stays',
  kept: { best: 1, low: 0.95, high: 1.05 },
  sentence: 'It stays in the metal, so it follows the metal through heels and returns.',
}

// From memory, and wide on purpose: vapour pressure says that it leaves, no plant knows how fast.
const LEAVES: Behaviour = {
  sort: 'leaves',
  kept: { best: 0.3, low: 0.01, high: 1 },
  sentence:
    'It leaves hot metal at a rate that hold time and temperature decide: the best value is a guess, the upper end takes none to have left.',
}

const OXIDISES: Behaviour = {
  sort: 'leaves',
  kept: { best: 0.93, low: 0.8, high: 1 },
  sentence: 'Some of it is lost in melting and holding: the upper end takes none to be.',
}

/** Elements not named here are taken as such that leave: it is the wider of the two. */
const BEHAVIOURS: Readonly<Record<string, Behaviour>> = {
  ...all(['Cu', 'Ni', 'Sn', 'Mo', 'P', 'Co', 'W', 'As', 'Sb'], STAYS),
  Cr: {
    sort: 'stays',
    // Induction recovery of FeCr 90 to 97 %, handbook, from memory.
    kept: { best: 0.98, low: 0.9, high: 1.05 },
    sentence: 'Nearly all of it stays in the metal.',
  },
  ...all(['Mn', 'Ti', 'V', 'Nb', 'Ce', 'La'], OXIDISES),
  C: {
    sort: 'leaves',
    kept: { best: 0.97, low: 0.85, high: 1 },
    sentence:
      'It is given off to a silica lining above the temperature at which silica and carbon react, and picked up from carburizer.',
  },
  Si: {
    sort: 'arrives',
    kept: { best: 0.97, low: 0.85, high: 1.1 },
    sentence: 'A silica lining gives it to hot metal: a surplus is not to be blamed on a lot.',
  },
  B: {
    sort: 'arrives',
    kept: { best: 0.9, low: 0.5, high: 1.1 },
    sentence: 'A lining can give it to the metal: a surplus is not to be blamed on a lot.',
  },
  S: {
    sort: 'arrives',
    kept: { best: 0.95, low: 0.7, high: 1.1 },
    sentence: 'Carburizer brings it too: a surplus is not to be blamed on a metallic lot.',
  },
  N: {
    sort: 'arrives',
    kept: { best: 0.7, low: 0.2, high: 1.1 },
    sentence: 'Carburizer and air bring it too: a surplus is not to be blamed on a metallic lot.',
  },
}

/** How an element behaves in hot iron. Which stay and which leave: abstracts on evaporation, read; figures from memory. */
export function behaviourOf(symbol: string): Behaviour {
  return BEHAVIOURS[symbol] ?? LEAVES
}

function all(symbols: readonly string[], behaviour: Behaviour): Record<string, Behaviour> {
  return Object.fromEntries(symbols.map((symbol) => [symbol, behaviour]))
}
