// The invented foundry and those it sells to. None of these names, nor those of its products and
// suppliers, is anybody's.

export const COMPANY = 'Quillon Fell Ironworks'
export const PLANT = 'https://quillonfell.example/plant/north'

export const CUSTOMERS = [
  'Tallow & Rye Stores',
  'Marden Outfitters',
  'Northgate Wholesale',
  'Saltmarsh Provisions',
  'Copse End Trading',
] as const
