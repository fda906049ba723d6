namespace HilRunner.History.Recording;

/// <summary>A figure of a batch over all its runs that count.</summary>
/// <param name="Output">Of the device.</param>
/// <param name="Class">"": all classes together.</param>
/// <param name="Measure">A word of score.json: recognised, reaction, report_latency, accuracy, chatter_per_minute, false_alarms, device_resets, device_silences.</param>
/// <param name="Statistic">p50 or p95 of a latency; "" otherwise.</param>
/// <param name="Value">Seconds for latencies; null: not defined, or a latency at which the device never got there.</param>
/// <param name="Trials">How many plays stand behind it; for what is not counted in trials, runs.</param>
public sealed record BatchFigure(string Output, string Class, string Measure, string Statistic, double? Value, int Trials);
