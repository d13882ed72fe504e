export { handoverPdf, type HandoverPdfInput } from './handover.ts';
export { patientPdf, type PatientPdfInput } from './patient.ts';
export { dueListPdf } from './due-list.ts';
export { entryFormPdf, type EntryFormPdfInput } from './entry-form.ts';
export { wardPdf, type WardPdfInput } from './ward.ts';
export { unitPdf, type UnitPdfInput } from './unit.ts';
export { nextShiftChangeMs } from './heads.ts';
export { flowSheetPdf, protocolTablesPdf, type ProtocolApproval, type ProtocolPdfInput } from './protocol.ts';
