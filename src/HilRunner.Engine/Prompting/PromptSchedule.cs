using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Prompting;

/// <summary>One thing that a person is told to do.</summary>
/// <param name="Start">When it is told.</param>
/// <param name="End">When the next one is told, or all is over.</param>
public sealed record Prompt(string Say, string Class, StimulusTime Start, StimulusTime End);

/// <summary>
/// What a person is told and when, one thing right after the other. Time 0 is the first prompt; before it is the lead, in which the person gets
/// ready.
/// </summary>
public sealed class PromptSchedule
{
    /// <summary>Time to get ready before the first prompt, and how long beforehand each next one is announced.</summary>
    public static readonly TimeSpan GetReady = TimeSpan.FromSeconds(3);

    private PromptSchedule(IReadOnlyList<Prompt> prompts, TimeSpan lead) => (Prompts, Lead) = (prompts, lead);

    public IReadOnlyList<Prompt> Prompts { get; }
    public TimeSpan Lead { get; }
    public StimulusTime End => Prompts[^1].End;

    /// <summary>Null where the scenario is not made of prompts alone.</summary>
    public static PromptSchedule? Of(Scenario scenario)
    {
        if (scenario.Steps.Count == 0 || scenario.Steps.Any(s => s is not PromptStep)) { return null; }
        var prompts = new List<Prompt>();
        StimulusTime at = StimulusTime.Zero;
        foreach (var step in scenario.Steps.Cast<PromptStep>())
        {
            StimulusTime end = at + step.For.Ticks * 100;
            prompts.Add(new(step.Say, scenario.Classes.GetValueOrDefault(step.Class, step.Class), at, end));
            at = end;
        }
        return new(prompts, scenario.Lead > GetReady ? scenario.Lead : GetReady);
    }

    /// <summary>Number of the prompt that holds at this time; −1: none yet; the number of prompts: all are over.</summary>
    public int IndexAt(StimulusTime at)
    {
        if (at.Ns < 0) { return -1; }
        for (int i = 0; i < Prompts.Count; i++)
        {
            if (at < Prompts[i].End) { return i; }
        }
        return Prompts.Count;
    }
}
