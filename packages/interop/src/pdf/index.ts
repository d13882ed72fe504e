export { handoverPdf, type HandoverPdfInput } from './handover.ts';
export { patientPdf, type PatientPdfInput } from './patient.ts';
export { wardPdf, type WardPdfInput } from './ward.ts';
export { unitPdf, type UnitPdfInput } from './unit.ts';
export { nextShiftChangeMs } from './heads.ts';
export { flowSheetPdf, protocolTablesPdf, type ProtocolApproval, type ProtocolPdfInput } from './protocol.ts';
