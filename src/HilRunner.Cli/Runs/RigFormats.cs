using System.Text.RegularExpressions;
using HilRunner.Core.Rigs;

namespace HilRunner.Cli.Runs;

/// <summary>Questions to a rig's message formats.</summary>
internal static class RigFormats
{
    public static bool GivesSampleNumber(IncomingMessage message) => Has(message, "n");

    public static bool Has(IncomingMessage message, string name) =>
        message.Layout is { } layout
            ? layout.Fields.Any(f => f.Name == name)
            : new Regex(message.Pattern!, RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1)).GetGroupNames().Contains(name);
}
