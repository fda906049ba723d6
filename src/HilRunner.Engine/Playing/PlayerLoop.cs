using System.Text;
using HilRunner.Engine.Pacing;
using HilRunner.Engine.Plans;

namespace HilRunner.Engine.Playing;

/// <summary>
/// The player's end of the pipes: reads plans, plays them one after another, answers each with a line
/// <c>ended CAUSE MESSAGE</c>. A thread of its own watches the pipe, so that the parent's death is seen in mid-run.
/// </summary>
public static class PlayerLoop
{
    /// <summary>Runs until the pipe ends. The order has been read from <paramref name="plans"/> already.</summary>
    public static void Run(PlayerSession session, Stream plans, Stream answers)
    {
        // Before the link's threads are made, which inherit it: the one that reads must wake up as soon as the one that paces, since
        // its lateness is in the stamps of what arrives.
        ShortSlice.Ask();
        using var arrived = new SemaphoreSlim(0);
        using var taken = new SemaphoreSlim(0);
        PlayPlan? next = null;
        var watcher = new Thread(() =>
        {
            try
            {
                while (PlanPipe.ReadPlan(plans) is { } plan)
                {
                    next = plan;
                    arrived.Release();
                    taken.Wait();
                }
            }
            catch (Exception broken) when (broken is IOException or InvalidDataException)
            {
                // A pipe that ended inside a plan: the parent died while writing it. There is nobody to tell.
            }
            next = null;
            session.Stop();
            arrived.Release();
        })
        { IsBackground = true, Name = "parent" };
        watcher.Start();
        while (true)
        {
            arrived.Wait();
            if (next is not { } plan) { return; }
            next = null;
            taken.Release();
            var (cause, message) = session.Play(plan);
            string line = $"ended {cause} {message.ReplaceLineEndings(" ")}\n";
            try { answers.Write(Encoding.UTF8.GetBytes(line)); answers.Flush(); }
            catch (IOException) { return; }
        }
    }
}
