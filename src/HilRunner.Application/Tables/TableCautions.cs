using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Tables;

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

    /// <param name="motion">What will move, and for how long.</param>
    public static void Tell(IOperator person, string motion)
    {
        person.Tell($"the table will move: {motion}");
        foreach (string caution in All) { person.Tell($"caution: {caution}"); }
    }

    /// <exception cref="ShakerException">Anything else was typed, or the input ended.</exception>
    /// <exception cref="OperationCanceledException">Interrupted.</exception>
    public static async Task AskAsync(IOperator person, string question, string word, CancellationToken stop)
    {
        string? said = await person.AskAsync($"{question}: ", stop).ConfigureAwait(false);
        if (said?.Trim() != word) { throw new ShakerException($"nobody typed {word}: the table does not move"); }
    }
}
