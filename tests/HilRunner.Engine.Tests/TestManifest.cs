using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Tests;

/// <summary>What a review needs to know of a run in real time, and nothing of where it came from.</summary>
internal static class TestManifest
{
    public static RunManifest Of(string id, SampleRate rate, int samples, int lead, IReadOnlyList<string> channels) => new()
    {
        Id = id,
        Started = default,
        ToolVersion = "",
        Host = "",
        Scenario = new("", "", ""),
        Rig = new("", "", ""),
        ScenarioName = "",
        RigName = "",
        Link = "",
        Speed = Speeds.Real,
        Rate = rate,
        Samples = samples,
        LeadSamples = lead,
        Channels = channels,
    };
}
