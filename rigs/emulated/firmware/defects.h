// Deliberate defects, compiled in by name (rigs/emulated/build --defect NAME), so that the tool can be shown to find each.
// A healthy image holds none of this. Three more stand where they strike: threshold, window and count in model.c; and the
// rate of a fast clock in clock.c.
#ifndef DEFECTS_H
#define DEFECTS_H

// Busy work for --think: between consuming the sample that decides and making the decision.
void think(void);

// leak: memory taken for each sample and never given back.
void defect_on_sample(void);

// slow: a self-test before each report. reset: each decision is written to memory that is slow to write.
void defect_before_report(void);

#endif
