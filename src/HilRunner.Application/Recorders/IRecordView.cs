using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;
using HilRunner.Engine.Recorders;

namespace HilRunner.Application.Recorders;

/// <summary>Shown what is recorded while it is recorded.</summary>
internal interface IRecordView : IRecordingView
{
    /// <param name="seconds">How long ago this label began.</param>
    void OnLabel(string? @class, double seconds, string said);

    /// <summary>An answer to a key.</summary>
    void Note(string said);

    /// <param name="script">Null: labels are set by keys.</param>
    /// <param name="at">Where in the script it is.</param>
    void Draw(Recorder recorder, PromptSchedule? script, StimulusTime? at, bool marked);

    void Clear();
}
