using HilRunner.Core.Documents;

namespace HilRunner.Cli.Commands;

/// <summary>Values of options that carry a unit.</summary>
internal static class Options
{
    /// <exception cref="UsageException">No duration; says what was expected.</exception>
    public static TimeSpan Duration(string option, string text) => TimeSpan.FromTicks(DurationNs(option, text) / 100);

    /// <exception cref="UsageException">No duration; says what was expected.</exception>
    public static long DurationNs(string option, string text)
    {
        try { return Quantity.DurationNs(text); }
        catch (FormatException fault) { throw new UsageException($"{option}: {fault.Message}"); }
    }
}
