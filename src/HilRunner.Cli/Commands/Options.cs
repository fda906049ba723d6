using HilRunner.Application;
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
        try
        {
            long ns = Quantity.DurationNs(text);
            return ns >= 0 ? ns : throw new FormatException($"\"{text}\" is below 0; expected a duration such as 12 s or 200 ms");
        }
        catch (FormatException fault) { throw new UsageException($"{option}: {fault.Message}"); }
    }
}
