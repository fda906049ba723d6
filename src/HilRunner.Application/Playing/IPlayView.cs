using HilRunner.Application.Batches;
using HilRunner.Reporting;

namespace HilRunner.Application.Playing;

/// <summary>Shown what is played while it is played; from several threads. Nothing waits for it.</summary>
internal interface IPlayView
{
    /// <summary>A run is under way, and its progress can be read, until the result is disposed.</summary>
    IDisposable Follow(BatchItem item, RunFollower follower);

    /// <summary>A run is under way in which something moves, until the result is disposed.</summary>
    IDisposable Follow(BatchItem item, IMover mover);

    /// <summary>A line about the rig, or about how far a job is.</summary>
    void Tell(string text);

    /// <summary>What a person is shown who moves the device now.</summary>
    IHandView ByHand();

    /// <summary>A run is finished.</summary>
    void Show(StoredRun run, BatchItem item);
}
