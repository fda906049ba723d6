using HilRunner.Application.Playing;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;

namespace HilRunner.Cli.Screen;

/// <summary>What a person is to do now, drawn over and over on the terminal.</summary>
internal sealed class HandBlock : IHandView
{
    private readonly LiveBlock _block = new(Terminal.Drawing);

    public void Show(PromptSchedule schedule, StimulusTime? at, bool marked, string? said) =>
        _block.Show([.. PromptLines.Of(schedule, at, marked), $"   device says {said ?? "nothing yet"}"]);

    public void Clear() => _block.Clear();
}
