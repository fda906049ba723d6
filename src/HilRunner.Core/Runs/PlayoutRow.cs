namespace HilRunner.Core.Runs;

/// <summary>
/// One row of playout.csv: sample <paramref name="N"/> (0 = first stimulus sample, negative in the lead) was due and was
/// handed to the link. Host nanoseconds since sample 0 was due (real time) or was sent (paced by the device).
/// </summary>
/// <param name="DueNs">Null where the device or its credit sets the pace: nothing was due.</param>
public readonly record struct PlayoutRow(long N, long? DueNs, long ActualNs);
