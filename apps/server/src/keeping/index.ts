export { backupFolder, faultSentence, type Keeping } from './backup.ts';
export { restoreFolder, verifyPath } from './restore.ts';
export type { SoundFolder, VerifiedFolder } from './verify-folder.ts';
export {
  backupDatabase,
  bringDatabaseUp,
  moveToDatabase,
  restoreDatabase,
  verifyDatabase,
  type DatabaseAt,
  type Moved,
} from './database.ts';
