namespace HilRunner.Core.Statistics;

/// <summary>A closed interval; an end may be infinite.</summary>
public readonly record struct Interval(double Low, double High);
