// Metal as it really is: how much, and how much of each element. What the plant knows of it are
// samples and weighings, made elsewhere.

export const ELEMENTS = ['C', 'Si', 'Mn', 'P', 'S', 'Cr', 'Cu', 'Ni', 'Sn', 'Al', 'Ti'] as const
export type Element = (typeof ELEMENTS)[number]

/** Percent of mass; what is left is iron, and elements nobody asks for. */
export type Chemistry = Partial<Record<Element, number>>

/** A body of metal, with a place for it in the truth. */
export interface Iron {
  node: number
  kg: number
  /** Unit: kg, in the order of ELEMENTS; last the kg that came from the bad lot. */
  parts: Float64Array
}

export const BAD = ELEMENTS.length

export function ironOf(node: number, kg = 0, chemistry?: Chemistry): Iron {
  const parts = new Float64Array(BAD + 1)
  if (chemistry) {
    ELEMENTS.forEach((element, i) => {
      parts[i] = (kg * (chemistry[element] ?? 0)) / 100
    })
  }
  return { node, kg, parts }
}

/** Moves metal as it is; what the truth keeps of it is the truth's business. */
export function pourOver(from: Iron, into: Iron, kg: number): void {
  const share = from.kg > 0 ? kg / from.kg : 0
  for (let i = 0; i < from.parts.length; i++) {
    const part = from.parts[i]! * share
    from.parts[i]! -= part
    into.parts[i]! += part
  }
  from.kg -= kg
  into.kg += kg
}

/** Burns off part of some elements. */
export function burn(iron: Iron, left: Chemistry): void {
  ELEMENTS.forEach((element, i) => {
    iron.parts[i]! *= left[element] ?? 1
  })
}

export function percentOf(iron: Iron, element: Element): number {
  return (100 * iron.parts[ELEMENTS.indexOf(element)]!) / iron.kg
}

/** Part of the metal that came from the bad lot. */
export function doseOf(iron: Iron): number {
  return iron.kg > 0 ? iron.parts[BAD]! / iron.kg : 0
}
