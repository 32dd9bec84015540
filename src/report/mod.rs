//! A record shown: tables and plots for the terminal, HTML for paper and screen. Renderers decide
//! nothing.
