// What the foundry makes, and the plates it is cast from.

export interface Product {
  name: string
  /** First part of the mark on its carton. */
  code: string
  castingKg: number
  /** Castings of a full pack. */
  packOf: readonly number[]
  /** Pieces carry a serial of their own. */
  serial?: boolean
}

export const PRODUCTS = {
  'karrow-20': { name: 'Karrow skillet 20 cm', code: 'K20', castingKg: 1.3, packOf: [72, 96, 120] },
  'karrow-26': { name: 'Karrow skillet 26 cm', code: 'K26', castingKg: 2.3, packOf: [48, 60, 72] },
  'karrow-30': { name: 'Karrow skillet 30 cm', code: 'K30', castingKg: 3.3, packOf: [36, 48] },
  'dorrin-5': { name: 'Dorrin Dutch oven 5 l', code: 'D5', castingKg: 5.4, packOf: [24] },
  'dorrin-5-lid': { name: 'Dorrin lid 5 l', code: 'L5', castingKg: 2.9, packOf: [24] },
  'gathe-28': {
    name: 'Gathe griddle 28 cm',
    code: 'G28',
    castingKg: 3.0,
    packOf: [40, 60],
    serial: true,
  },
} as const satisfies Record<string, Product>
export type ProductId = keyof typeof PRODUCTS

export interface Plate {
  pattern: string
  cavities: { cavity: string; product: ProductId; blocked?: boolean }[]
  /** Metal of one mold, gates included. */
  pouredKg: number
  /** How many molds are made before the next plate goes on. */
  molds: readonly [number, number]
}

/** The plates each line changes between. */
export const PLATES: Record<'a' | 'b', readonly Plate[]> = {
  a: [
    {
      pattern: 'K26-3',
      cavities: ['1', '2', '3'].map((cavity) => ({ cavity, product: 'karrow-26' })),
      pouredKg: 12.2,
      molds: [850, 1100],
    },
    {
      pattern: 'K30-2',
      cavities: ['1', '2'].map((cavity) => ({ cavity, product: 'karrow-30' })),
      pouredKg: 11.4,
      molds: [500, 700],
    },
  ],
  b: [
    {
      pattern: 'K20-4',
      cavities: ['1', '2', '3', '4'].map((cavity) =>
        cavity === '4'
          ? { cavity, product: 'karrow-20', blocked: true }
          : { cavity, product: 'karrow-20' },
      ),
      pouredKg: 8.1,
      molds: [500, 650],
    },
    {
      pattern: 'D5-2',
      cavities: [
        { cavity: '1', product: 'dorrin-5' },
        { cavity: '2', product: 'dorrin-5-lid' },
      ],
      pouredKg: 15.2,
      molds: [480, 600],
    },
    {
      pattern: 'G28-2',
      cavities: ['1', '2'].map((cavity) => ({ cavity, product: 'gathe-28' })),
      pouredKg: 10.8,
      molds: [400, 550],
    },
  ],
}
