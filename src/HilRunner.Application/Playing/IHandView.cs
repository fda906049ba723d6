using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;

namespace HilRunner.Application.Playing;

/// <summary>Shows a person what to do while they move the device.</summary>
internal interface IHandView
{
    /// <param name="at">Where in the schedule it is; null: it has not begun.</param>
    /// <param name="marked">The onset of the prompt that holds was marked.</param>
    /// <param name="said">The device's last class; null: none yet.</param>
    void Show(PromptSchedule schedule, StimulusTime? at, bool marked, string? said);

    void Clear();
}
