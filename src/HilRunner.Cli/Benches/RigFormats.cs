using System.Text.RegularExpressions;
using HilRunner.Core.Rigs;

namespace HilRunner.Cli.Benches;

/// <summary>Questions to a rig's message formats.</summary>
internal static class RigFormats
{
    private const string SampleNumber = "n";

    public static bool GivesSampleNumber(IncomingMessage message) =>
        message.Layout is { } layout
            ? layout.Fields.Concat(layout.Repeat).Any(f => f.Name == SampleNumber)
            : new Regex(message.Pattern!, RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1)).GetGroupNames().Contains(SampleNumber);
}
