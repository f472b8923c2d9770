export { dropDraft, emptyDraft, keepDraft, loadDraft, withoutFile, type SendDraft } from './draft';
export { Arrival } from './footage.svelte';
export { sizeWords } from './sizes';
export { FileUpload } from './upload.svelte';
