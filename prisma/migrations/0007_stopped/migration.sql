-- AlterTable
ALTER TABLE "position" ADD COLUMN     "stopped" TEXT;
