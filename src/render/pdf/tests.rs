//! Pages as PDF.
