using HilRunner.Core.Shakers;
using HilRunner.Core.Sweeps;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli.Screen;

/// <summary>What a person must know before a table moves, and their leave.</summary>
internal static class TableCautions
{
    /// <summary>For every place that speaks of a table.</summary>
    public static IReadOnlyList<string> All { get; } =
    [
        "a table moves mass, pinches, is loud, and can throw what is on it: keep hands off, keep the guards closed (ISO 13857), protect your ears",
        "software is no safety function: have a hard-wired emergency stop in reach (ISO 13850; stop categories: IEC 60204-1) that does not pass through this computer",
        "fix the device, not its cell; look for parts that loosen; stop on swelling, heat or smell: lithium cells burn",
        "local codes and a competent person decide what is enough",
    ];

    public static void Print(SweepPlan plan, SineMotion highest, TimeSpan slot)
    {
        var loops = Staircase.Of(plan);
        double minutes = loops.Sum(l => l.Levels.Count() + 1) * slot.TotalMinutes;
        Console.Error.WriteLine(FormattableString.Invariant($"the table will move: up to {highest.PeakG:0.###} g at {highest.Hz:0.###} Hz ({highest.Displacement * 1000:0.###} mm either side), {loops.Count} {(loops.Count == 1 ? "loop" : "loops")}, {minutes:0.0} min"));
        foreach (string caution in All) { Console.Error.WriteLine($"caution: {caution}"); }
    }

    /// <exception cref="ShakerException">Anything else was typed, or the input ended.</exception>
    /// <exception cref="OperationCanceledException">Interrupted.</exception>
    public static async Task AskAsync(string question, string word, CancellationToken stop)
    {
        Console.Error.Write($"{question}: ");
        // A read that is under way cannot be broken off; it ends with the process.
        string? said = await Task.Run(Console.In.ReadLine, stop).WaitAsync(stop).ConfigureAwait(false);
        if (said?.Trim() != word) { throw new ShakerException($"nobody typed {word}: the table does not move"); }
    }
}
