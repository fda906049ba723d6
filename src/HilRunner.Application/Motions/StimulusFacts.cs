using HilRunner.Core.Recordings;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;

namespace HilRunner.Application.Motions;

/// <summary>What is known of a stimulus before it is played; its samples are let go.</summary>
/// <param name="Length">With its lead, in real time.</param>
/// <param name="Reference">What is to be recognised.</param>
/// <param name="End">Of what is scored.</param>
/// <param name="Sources">Recordings that it comes from.</param>
internal sealed record StimulusFacts(
    TimeSpan Length, IReadOnlyList<ReferenceInterval> Reference, StimulusTime End, IReadOnlyList<StimulusSource> Sources)
{
    public static StimulusFacts Of(Stimulus stimulus) =>
        new(TimeSpan.FromSeconds(stimulus.SampleCount / stimulus.Rate.Hertz), stimulus.Reference, stimulus.End, stimulus.Sources);
}
