using HilRunner.Application.HostModels;
using HilRunner.Core.Runs;
using HilRunner.Core.Signals;

namespace HilRunner.Application.Reproducing;

/// <summary>What the host makes of a play: the model of the firmware, run on the same samples.</summary>
internal interface IHostOpinion : IDisposable
{
    /// <summary>As people read it.</summary>
    string Name { get; }

    /// <exception cref="IOException">It could not tell: says why.</exception>
    Task<IReadOnlyList<Decision>> DecideAsync(SourceDocument document, Excerpt excerpt, Stimulus stimulus, ulong seed, CancellationToken stop);
}

/// <summary>A model file, run in this program.</summary>
internal sealed class ModelOpinion(HostModel model) : IHostOpinion
{
    public string Name => $"the model {Path.GetFileName(model.Path)} on the host";

    public Task<IReadOnlyList<Decision>> DecideAsync(SourceDocument document, Excerpt excerpt, Stimulus stimulus, ulong seed, CancellationToken stop) =>
        Task.FromResult<IReadOnlyList<Decision>>(model.Decide(stimulus));

    public void Dispose()
    {
    }
}

/// <summary>A program that speaks as the rig's device does, on its stdin and stdout: it is played to as the device is.</summary>
internal sealed class ProgramOpinion(CasePlayer player, Symptom symptom, string program) : IHostOpinion
{
    public string Name => $"the program {Path.GetFileName(program.Split(' ')[0])} on the host";

    public async Task<IReadOnlyList<Decision>> DecideAsync(SourceDocument document, Excerpt excerpt, Stimulus stimulus, ulong seed, CancellationToken stop)
    {
        var play = await player.PlayAsync(excerpt, document, symptom, seed, stop).ConfigureAwait(false);
        return play.Spoiled is null ? play.Decisions : throw new IOException($"the host program said nothing that counts: {play.Spoiled}; see {play.Folder}");
    }

    public void Dispose() => player.Dispose();
}
