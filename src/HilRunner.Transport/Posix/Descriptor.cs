using System.ComponentModel;
using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Transport.Posix;

/// <summary>
/// A file descriptor of our own. It is closed when it is disposed and nobody holds a reference any more: a call that is
/// under way keeps it open, so that its number is never reused under that call.
/// </summary>
internal sealed class Descriptor : SafeHandleMinusOneIsInvalid
{
    private readonly IDisposable? _owner;

    public Descriptor(int number) : base(ownsHandle: true) => SetHandle(number);

    /// <param name="owner">What the number belongs to; disposed instead of closing the number.</param>
    public Descriptor(int number, IDisposable owner) : this(number) => _owner = owner;

    /// <summary>Valid only while a reference is held.</summary>
    public int Number => (int)handle;

    /// <summary>Takes a reference unless it is closed; give it back with DangerousRelease.</summary>
    public bool TryHold()
    {
        if (IsClosed) { return false; }
        bool held = false;
        try { DangerousAddRef(ref held); }
        catch (ObjectDisposedException) { return false; }
        return held;
    }

    /// <summary>Calls return at once instead of waiting. Belongs to the open file: a far end in another process is not touched.</summary>
    public void MakeNonBlocking()
    {
        int flags = Libc.Fcntl(Number, Libc.F_GETFL, 0);
        if (flags < 0 || Libc.Fcntl(Number, Libc.F_SETFL, flags | Libc.O_NONBLOCK) < 0)
        {
            throw new Win32Exception(Marshal.GetLastPInvokeError());
        }
    }

    protected override bool ReleaseHandle()
    {
        if (_owner is null) { return Libc.Close((int)handle) == 0; }
        _owner.Dispose();
        return true;
    }
}
