namespace HilRunner.Emulated.Tests.Bench;

/// <summary>The deliberate defects that rigs/emulated/build knows.</summary>
internal static class Defects
{
    public const string Threshold = "threshold", Window = "window", Count = "count", Slow = "slow", Leak = "leak", Reset = "reset", Clock = "clock";

    public static IReadOnlyList<string> All { get; } = [Threshold, Window, Count, Slow, Leak, Reset, Clock];
}
