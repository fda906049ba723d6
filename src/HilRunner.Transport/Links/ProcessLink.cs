using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;
using System.IO.Pipes;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// A program whose stdin and stdout are the link. No shell: each argument is one argument. The end of its stderr is kept
/// for the message that says why it ended. Disposing ends the program: stdin closes, it has a moment, then it is killed.
/// </summary>
public sealed class ProcessLink : ILink
{
    private static readonly TimeSpan Grace = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan KillLimit = TimeSpan.FromMilliseconds(250);
    private static readonly TimeSpan ExitCodeLimit = TimeSpan.FromMilliseconds(500);
    private readonly Process _process;
    private readonly HostClock _clock;
    private readonly DescriptorLink _link;
    private readonly Descriptor _errors;
    private readonly WakeEvent _wake = new();
    private readonly TextTail _lastWords = new();
    private readonly DescriptorReader _errorReader;
    private int _disposed;

    private ProcessLink(Process process, string name, HostClock clock)
    {
        (_process, _clock) = (process, clock);
        Descriptor output = OwnPipe(process.StandardOutput.BaseStream, process.StandardOutput);
        Descriptor input = OwnPipe(process.StandardInput.BaseStream, process.StandardInput);
        _errors = OwnPipe(process.StandardError.BaseStream, process.StandardError);
        _link = new(name, clock, output, input, DescribeLoss);
        _errorReader = new(name + " (stderr)", _errors, _wake, clock, _lastWords, error => LinkErrors.Lost(name, error));
        _errorReader.TryStart();
    }

    public string Name => _link.Name;

    /// <exception cref="LinkException">Missing: no such program. Denied: it may not be executed.</exception>
    public static ProcessLink Run(HostClock clock, string program, IReadOnlyList<string> arguments)
    {
        string name = "process:" + program;
        PosixOnly.Check(name);
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        try
        {
            return new(Process.Start(start)!, name, clock);
        }
        catch (Win32Exception e)
        {
            throw (Errno)e.NativeErrorCode == Errno.ENOENT
                ? new LinkException(LinkFault.Missing, $"{name}: there is no such program; give its path, or put its folder into PATH", e)
                : new LinkException(LinkFault.Denied, $"{name} cannot be executed ({(Errno)e.NativeErrorCode}); is it a program, and is it executable (chmod +x)?", e);
        }
    }

    public void Start(ILinkReceiver receiver) => _link.Start(receiver);

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit) => _link.Write(bytes, limit);

    public void Dispose()
    {
        if (Interlocked.Exchange(ref _disposed, 1) != 0) { return; }
        // Closes its stdin, which is the polite way to say that it is over.
        _link.Dispose();
        if (!_process.WaitForExit(Grace))
        {
            _process.Kill(entireProcessTree: true);
            _process.WaitForExit(KillLimit);
        }
        _wake.Set();
        _errorReader.Join(KillLimit);
        _errors.Dispose();
        _wake.Dispose();
        _process.Dispose();
    }

    /// <summary>Its stdout has ended, which for most programs means that it exits just now.</summary>
    private LinkException DescribeLoss(Errno error)
    {
        try
        {
            if (!_process.WaitForExit(ExitCodeLimit))
            {
                return new(LinkFault.Lost, $"{Name} closed its stdout but runs on; a program that serves as a link keeps it open" + LastWords());
            }
            // Its stderr ends with it, unless a child of it holds it open.
            _errorReader.Join(ExitCodeLimit);
            int code = _process.ExitCode;
            string how = code > 128 ? string.Create(CultureInfo.InvariantCulture, $"{code}: ended by signal {code - 128}") : code.ToString(CultureInfo.InvariantCulture);
            return new(LinkFault.Lost, $"{Name} has ended (exit code {how})" + LastWords());
        }
        // Disposed meanwhile: nobody asks for the reason any more.
        catch (InvalidOperationException) { return LinkErrors.Closed(Name); }
    }

    private string LastWords() => _lastWords.ToString() is { Length: > 0 } text ? "; it last said on stderr: " + text : "; it said nothing on stderr";

    private static Descriptor OwnPipe(Stream stream, IDisposable owner)
    {
        var descriptor = new Descriptor((int)((PipeStream)stream).SafePipeHandle.DangerousGetHandle(), owner);
        descriptor.MakeNonBlocking();
        return descriptor;
    }
}
