using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Application.Reproducing;

/// <summary>A play of the complaint beside what the host model makes of the same samples.</summary>
/// <param name="How">As recorded, or varied.</param>
/// <param name="HostSaid">Where the complaint is; null: there is no host model, or it was not asked.</param>
internal sealed record PlayedCase(string How, CasePlay Play, string? HostSaid, IReadOnlyList<Decision>? HostDecisions, Stimulus Stimulus)
{
    public const string Exact = "as recorded", Varied = "varied: begun up to 0.5 s later, with noise of two counts";
}
