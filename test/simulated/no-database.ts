// Stands in for the drivers of real databases, which nobody asks in a simulation.
const none = () => {
  throw new Error('There is no real database in a simulation.')
}

export const PGlite = { create: none }
export const createPgConfig = none
export const prismaOver = none
const pg = { Pool: none, Client: none }
export default pg
