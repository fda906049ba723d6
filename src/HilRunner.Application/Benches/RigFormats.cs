using HilRunner.Core.Rigs;

namespace HilRunner.Application.Benches;

/// <summary>Questions to a rig's message formats.</summary>
internal static class RigFormats
{
    /// <summary>
    /// A decision's place among the samples is in it: by the sample's own number, or by that of the message that held it.
    /// </summary>
    public static bool GivesSampleNumber(IncomingMessage message) => message.Names.Any(n => n is "n" or "batch");
}
