using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Time;

namespace HilRunner.Engine.Instruments;

/// <summary>
/// Talks to an instrument in the words of SCPI-99: a command or a question a line, <c>SYST:ERR?</c> after each command. Everything
/// said either way is told to <paramref name="log"/>.
/// </summary>
public sealed class ScpiSession(ILink link, HostClock clock, Action<string> log) : ILinkReceiver, IDisposable
{
    private const int LongestAnswer = 4096;
    private static readonly TimeSpan s_answer = TimeSpan.FromSeconds(3), s_write = TimeSpan.FromSeconds(3);
    private readonly object _gate = new();
    private readonly Queue<string> _answers = new();
    private readonly StringBuilder _line = new();
    private LinkException? _lost;

    public void Start() => link.Start(this);

    /// <summary>Sends a question and waits for its answer.</summary>
    /// <exception cref="LinkException">No answer within 3 s, or the link was lost.</exception>
    public string Ask(string question)
    {
        lock (_gate) { _answers.Clear(); }
        Send(question);
        HostTime end = clock.Now + s_answer;
        lock (_gate)
        {
            while (_answers.Count == 0)
            {
                if (_lost is { } lost) { throw lost; }
                long left = end - clock.Now;
                if (left <= 0) { throw new LinkException(LinkFault.Lost, $"supply {link.Name}: no answer to {question} within {s_answer.TotalSeconds:0} s; is it on, and does it speak SCPI on this link?"); }
                Monitor.Wait(_gate, TimeSpan.FromMilliseconds(left / 1_000_000 + 1));
            }
            string answer = _answers.Dequeue();
            log($"  {answer}");
            return answer;
        }
    }

    /// <summary>Sends a command and asks whether the instrument has an error to report.</summary>
    /// <exception cref="LinkException">It has one (its words are in the message), or as for <see cref="Ask"/>.</exception>
    public void Tell(string command)
    {
        Send(command);
        string error = Ask("SYST:ERR?");
        // SCPI-99, vol. 2, 21.8: number, comma, text in quotes; 0 is "No error".
        if (!int.TryParse(error.Split(',')[0], out int number) || number != 0)
        {
            throw new LinkException(LinkFault.WrongKind, $"supply {link.Name}: {command} was answered by the error {error}");
        }
    }

    /// <summary>Sends a command on the way out of a fault, whether it is heard or not.</summary>
    public void TryTell(string command)
    {
        try { Send(command); }
        catch (LinkException fault) { log($"  {fault.Message}"); }
    }

    public void Dispose() => link.Dispose();

    public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
    {
        lock (_gate)
        {
            foreach (byte b in bytes)
            {
                if (b is (byte)'\r') { continue; }
                if (b != '\n')
                {
                    if (_line.Length < LongestAnswer) { _line.Append((char)b); }
                    continue;
                }
                _answers.Enqueue(_line.ToString());
                _line.Clear();
            }
            Monitor.PulseAll(_gate);
        }
    }

    public void OnLost(LinkException cause, HostTime at)
    {
        lock (_gate)
        {
            _lost = cause;
            Monitor.PulseAll(_gate);
        }
    }

    private void Send(string line)
    {
        log($"> {line}");
        link.Write(Encoding.ASCII.GetBytes(line + "\n"), s_write);
    }
}
